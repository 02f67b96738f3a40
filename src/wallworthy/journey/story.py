"""What happened to a ticket, told in sentences: the record's own fields stay in the JSON."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from wallworthy.base.saying import correction_words

Detail = Mapping[str, Any]

SCALE_TOLD_PCT: Final = 0.1
"""A print no further from its size than this is the size it was meant."""
TICKS: Final = {"word": "", "none_right": "none is right"}
"""Ticks that are not said by their own name; a word is said by what it says."""


def told(kind: str, detail: Detail) -> str:
    """One event as a sentence; an event of a kind unknown here is told by its fields."""
    match kind:
        case "started":
            return f"Started on {detail.get('condition')}."
        case "proofed":
            return (
                f"Proofed, {_asked(detail.get('correction'))}: {_de00(detail, 'loss_mean_de00')} lost on average, "
                f"{_de00(detail, 'loss_p95_de00')} at 95 %; {_number(detail, 'out_of_range_pct', 0)} % out of range."
            )
        case "test sheet":
            return (
                f"Test sheet {detail.get('sheet')} made; without it {_de00(detail, 'expected_de00')} "
                "were expected to be left."
            )
        case "judged":
            step = "print it" if detail.get("advice") == "print" else "one more sheet"
            left = f"{_de00(detail, 'expected_de00')} expected to be left"
            return f"Sheet {detail.get('sheet')} judged, '{detail.get('said')}': {left}, {step}."
        case "final":
            size = " x ".join(str(edge) for edge in detail.get("size_px", ()))
            return (
                f"Final made: {size} pixels, {detail.get('bits')} bits, {str(detail.get('format', '')).upper()}, "
                f"{_asked(detail.get('correction'))}, as {detail.get('delivery')}."
            )
        case "read back":
            return _read_back(detail)
        case "hung together":
            return f"Hung together with {', '.join(str(ticket) for ticket in detail.get('with', ()))}."
        case "hung apart":
            return "A print by itself again."
        case "changed":
            changes = "; ".join(f"{key.replace('_', ' ')} {_plain(value)}" for key, value in detail.items())
            return f"Changed: {changes}."
        case _:
            fields = ", ".join(f"{key.replace('_', ' ')} {_plain(value)}" for key, value in detail.items())
            return f"{kind.capitalize()}{': ' + fields if fields else ''}."


def said_of_sheet(said: Detail) -> str:
    """The last verdict on a sheet as a sentence, from what `judge` keeps of it."""
    words = [f"{rank} {said[rank]}" for rank in ("best", "next") if said.get(rank)]
    words += [*said.get("say", ()), *(["none is right"] if said.get("none_right") else [])]
    ticked = ", as ticked on it" if said.get("ticked") else ""
    stop = f"; near enough at {said['stop_at_de00']:g} dE00" if said.get("stop_at_de00") else ""
    return f"Said of sheet {said.get('sheet')}{ticked}: {'; '.join(words) or 'nothing'}{stop}."


def measured_of_sheet(measured: Detail) -> str:
    """The last reading of a sheet in sentences, from what `readback` keeps of it."""
    scale = measured.get("scale_error_pct")
    larger = "" if scale is None or abs(scale) < SCALE_TOLD_PCT else f" It is {_scaled(scale)} than it was meant."
    prints = [_ticked(one) for one in measured.get("prints", ()) if one["ticks"]]
    return " ".join((f"Measured of sheet {_found(measured)}{larger}", *prints))


def _scaled(scale_error_pct: float) -> str:
    return f"{abs(scale_error_pct):.1f} % {'larger' if scale_error_pct > 0 else 'smaller'}"


def _ticked(seen: Detail) -> str:
    which = "it" if seen.get("print") is None else f"print {seen['print']}"
    said = [(TICKS.get(kind, kind), code, direction) for kind, code, direction in seen["ticks"]]
    ticks = [" ".join(part for part in tick if part) for tick in said]
    return f"Ticked on {which}: {'; '.join(ticks)}."


def _read_back(detail: Detail) -> str:
    return f"Sheet {_found(detail, ' read back')}"


def _found(detail: Detail, how: str = "") -> str:
    sheet = f"{detail.get('sheet')}{how}"
    if detail.get("likeliest") is None:
        return f"{sheet}: nothing could be measured."
    what = str(detail["likeliest"]).replace("_", " ")
    sure = f"{100 * float(detail.get('probability') or 0):.0f} % sure"
    against = "absolute" if detail.get("absolute") else "relative to its paper"
    return f"{sheet}: {what} ({sure}), its tiles {_de00(detail, 'mean_de00')} from what was promised, {against}."


def _asked(correction: object) -> str:
    if isinstance(correction, Mapping):
        return correction_words({str(axis): float(value) for axis, value in correction.items()})
    if not isinstance(correction, str) or correction in ("", "none"):
        return "no correction"
    values: dict[str, float] = {}
    for part in correction.split(","):
        axis, _, number = part.strip().partition(" ")
        try:
            values[axis] = float(number)
        except ValueError:
            return correction
    return correction_words(values)


def _de00(detail: Detail, key: str) -> str:
    return f"{_number(detail, key, 1)} dE00"


def _number(detail: Detail, key: str, digits: int) -> str:
    value = detail.get(key)
    return f"{value:.{digits}f}" if isinstance(value, int | float) else "?"


def _plain(value: object) -> str:
    return f"{value:.2f}" if isinstance(value, float) else str(value)
