"""Write src/wallworthy/raster/blue_noise.bin: the dither's mask.

.venv/bin/python scripts/pages/mask.py
"""

from __future__ import annotations

from wallworthy.raster.mask import RANKS_FILE, made_ranks

if __name__ == "__main__":
    RANKS_FILE.write_bytes(made_ranks().astype("<u2").tobytes())
