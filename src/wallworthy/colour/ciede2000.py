"""CIEDE2000 colour difference: ISO/CIE 11664-6; implementation notes of Sharma, Wu, Dalal 2005."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def ciede2000(lab1: ArrayLike, lab2: ArrayLike) -> Array:
    """Colour difference dE00 with kL = kC = kH = 1.

    lab1, lab2: (..., 3), L* 0-100, broadcast against each other. Returns (...,), 0 or more.
    Source: Sharma2005, equations 2-22.

    >>> ciede2000([50, 2.6772, -79.7751], [50, 0, -82.7485]).round(4).item()
    2.0425
    """
    lab1 = np.asarray(lab1, dtype=np.float64)
    lab2 = np.asarray(lab2, dtype=np.float64)
    l1, a1, b1 = lab1[..., 0], lab1[..., 1], lab1[..., 2]
    l2, a2, b2 = lab2[..., 0], lab2[..., 1], lab2[..., 2]

    c_mean7 = ((np.hypot(a1, b1) + np.hypot(a2, b2)) / 2) ** 7
    g = 0.5 * (1 - np.sqrt(c_mean7 / (c_mean7 + 25.0**7)))
    a1, a2 = (1 + g) * a1, (1 + g) * a2
    c1, c2 = np.hypot(a1, b1), np.hypot(a2, b2)
    h1 = np.degrees(np.arctan2(b1, a1)) % 360
    h2 = np.degrees(np.arctan2(b2, a2)) % 360
    grey = c1 * c2 == 0

    dl, dc = l2 - l1, c2 - c1
    dh = (h2 - h1 + 180) % 360 - 180
    dh = np.where(h2 - h1 == 180, 180.0, dh)
    dh = np.where(grey, 0.0, dh)
    dh_metric = 2 * np.sqrt(c1 * c2) * np.sin(np.radians(dh) / 2)

    l_mean, c_mean = (l1 + l2) / 2, (c1 + c2) / 2
    h_sum = h1 + h2
    h_mean = np.where(np.abs(h1 - h2) <= 180, h_sum / 2, np.where(h_sum < 360, h_sum / 2 + 180, h_sum / 2 - 180))
    h_mean = np.where(grey, h_sum, h_mean)

    rad = np.radians(h_mean)
    t = (
        1
        - 0.17 * np.cos(rad - np.radians(30))
        + 0.24 * np.cos(2 * rad)
        + 0.32 * np.cos(3 * rad + np.radians(6))
        - 0.20 * np.cos(4 * rad - np.radians(63))
    )
    l50 = (l_mean - 50) ** 2
    s_l = 1 + 0.015 * l50 / np.sqrt(20 + l50)
    s_c = 1 + 0.045 * c_mean
    s_h = 1 + 0.015 * c_mean * t
    c7 = c_mean**7
    rotation = -2 * np.sqrt(c7 / (c7 + 25.0**7)) * np.sin(np.radians(60 * np.exp(-(((h_mean - 275) / 25) ** 2))))

    l_term, c_term, h_term = dl / s_l, dc / s_c, dh_metric / s_h
    square = l_term**2 + c_term**2 + h_term**2 + rotation * c_term * h_term
    return np.sqrt(np.maximum(square, 0.0))
