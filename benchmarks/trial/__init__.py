"""Proof of worth: simulated people judge test sheets made our way and the usual ways."""
