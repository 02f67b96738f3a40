"""The job card: how to print a final, and what mistakes look like."""
