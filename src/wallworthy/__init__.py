"""Wallworthy: from a finished picture on a screen to the print on the wall."""

__version__ = "0.1.0"
