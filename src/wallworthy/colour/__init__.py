"""Pure numpy: one published model per file, checked against its publication."""
