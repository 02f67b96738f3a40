"""ICC profiles read and written; the only door to littleCMS and OpenColorIO."""
