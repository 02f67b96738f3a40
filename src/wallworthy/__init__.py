"""Wallworthy: from a finished picture on a screen to the print on the wall.

The library in five lines stands in `wallworthy.journey.face`; its names are here, loaded on first use.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from wallworthy.journey.face import (
        AppraiseAnswer,
        ChooseAnswer,
        Condition,
        Correction,
        Delivery,
        Display,
        FinalFacts,
        Light,
        Master,
        ProofReport,
        SoftProof,
        Way,
        appraise_master,
        choose,
        correct,
        display_from,
        generic_condition,
        judge,
        light_from,
        make_sheet,
        measure_ink_spread,
        open_master,
        read_condition,
        readback,
        soft_proof,
        start_ticket,
        write_final,
    )

__version__ = "0.1.0"

__all__ = [
    "AppraiseAnswer",
    "ChooseAnswer",
    "Condition",
    "Correction",
    "Delivery",
    "Display",
    "FinalFacts",
    "Light",
    "Master",
    "ProofReport",
    "SoftProof",
    "Way",
    "__version__",
    "appraise_master",
    "choose",
    "correct",
    "display_from",
    "generic_condition",
    "judge",
    "light_from",
    "make_sheet",
    "measure_ink_spread",
    "open_master",
    "read_condition",
    "readback",
    "soft_proof",
    "start_ticket",
    "write_final",
]


def __getattr__(name: str) -> Any:
    """Load the face only when one of its names is wanted: `import wallworthy` alone stays light."""
    if name not in __all__:
        raise AttributeError(f"module 'wallworthy' has no attribute '{name}'")
    from wallworthy.journey import face

    return getattr(face, name)


def __dir__() -> list[str]:
    return sorted(__all__)
