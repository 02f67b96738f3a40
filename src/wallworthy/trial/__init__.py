"""The test sheet: what to ask of it, what its verdict teaches, and when to stop."""
