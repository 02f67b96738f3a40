"""Picture files, scaling, dithering and machine vision; the only door to libvips, tifffile and OpenCV."""
