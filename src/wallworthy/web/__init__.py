"""The local page's server: a thin face on journey. Only `open` imports it."""
