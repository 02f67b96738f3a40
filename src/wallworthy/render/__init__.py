"""The final: sharpening, delivery and whole codes, strip by strip."""
