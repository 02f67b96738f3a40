"""Squeezing a picture into a condition's range: the standard ways, composed into one measured table."""
