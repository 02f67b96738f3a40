"""The job card: how to print this file right, in numbered steps, and what a mistake looks like on paper.

In general trade words, for somebody at their own printer and for a lab. What it says beyond the
file's own figures is common practice, no source.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from typing import Any, Final, Protocol

from wallworthy.base.records import Box, Condition, Delivery, Pair
from wallworthy.base.ticket import Ticket
from wallworthy.base.units import MM_PER_INCH
from wallworthy.dispatch.advice import CAUTIONS, Mistake, mistakes_for

SCHEMA: Final = "wallworthy/card/1"
WIDTH: Final = 96
TONES: Final = {
    "neutral": "neutral, the paper's own tint all the way down",
    "paper-warm": "warm middle tones, as warm paper makes them",
    "cool": "cool middle tones",
    "split": "split, cool dark tones and warm light ones",
}
"""The tones of `fit.greys` in words."""
MOST_ROUNDED_MM: Final = 0.3
"""A format is told in whole millimetres when it is no further from them."""


class PlanLike(Protocol):
    """What the card needs of a final's plan."""

    @property
    def border_px(self) -> tuple[int, int, int, int]: ...
    @property
    def ppi(self) -> float: ...
    @property
    def format(self) -> str: ...
    @property
    def delivery(self) -> Delivery: ...
    @property
    def size_mm(self) -> Pair: ...


class FactsLike(Protocol):
    """What the card needs of a written final."""

    @property
    def width_px(self) -> int: ...
    @property
    def height_px(self) -> int: ...
    @property
    def picture_box_px(self) -> Box: ...
    @property
    def density_ppi(self) -> float: ...
    @property
    def bits(self) -> int: ...
    @property
    def space(self) -> str: ...
    @property
    def sharpen_gain(self) -> float: ...
    @property
    def pixels_sha256(self) -> str: ...
    @property
    def beyond_delivery_pct(self) -> float: ...


@dataclass(frozen=True, slots=True)
class _Job:
    """The figures the steps speak of."""

    file: str
    file_mm: Pair
    picture_mm: Pair
    ppi: float
    space: str
    numbers: bool
    bordered: bool
    sharpened: bool
    media: str | None
    profile: str
    paper: str
    guess: bool
    tone: str | None
    """Of black and white; None for colour."""


def job_card(
    ticket: Ticket, condition: Condition, plan: PlanLike, facts: FactsLike, file_name: str
) -> tuple[str, dict[str, Any]]:
    """How to print a final: (text for people, the same as JSON-able data).

    Steps for one's own printer and for a lab by the delivery, the size to check with a ruler, what
    mistakes look like, and how to treat the print. Common practice, no source.
    """
    job = _job(ticket, condition, plan, facts, file_name)
    own, lab = _own_printer(job), _lab(job)
    mistakes = mistakes_for(numbers=job.numbers, ink_values=job.space not in ("RGB", "GRAY"))
    heading = _heading(ticket, condition, plan, facts, job)
    data: dict[str, Any] = {
        "schema": SCHEMA,
        "ticket": ticket.id,
        "title": ticket.title,
        "file": file_name,
        "format": plan.format,
        "delivery": str(plan.delivery),
        "condition": condition.name,
        "paper": condition.paper,
        "media": condition.media,
        "profile_description": condition.facts.profile_description,
        "guess": condition.guess,
        "black_and_white": ticket.black_and_white,
        "size_mm": [round(edge, 1) for edge in job.picture_mm],
        "file_size_mm": [round(edge, 1) for edge in job.file_mm],
        "margins_mm": [round(edge / plan.ppi * MM_PER_INCH, 1) for edge in plan.border_px],
        "file_size_px": [facts.width_px, facts.height_px],
        "picture_box_px": list(facts.picture_box_px),
        "density_ppi": facts.density_ppi,
        "bits": facts.bits,
        "space": facts.space,
        "pixels_sha256": facts.pixels_sha256,
        "own_printer": own,
        "lab": lab,
        "mistakes": [{"kind": m.kind, "looks_like": m.looks_like, "mend": m.mend} for m in mistakes],
        "cautions": list(CAUTIONS),
    }
    return _text(heading, own, lab, mistakes), data


def _job(ticket: Ticket, condition: Condition, plan: PlanLike, facts: FactsLike, file_name: str) -> _Job:
    mm = MM_PER_INCH / plan.ppi
    return _Job(
        file=file_name,
        file_mm=(_as_ordered(facts.width_px, mm), _as_ordered(facts.height_px, mm)),
        picture_mm=plan.size_mm,
        ppi=plan.ppi,
        space=facts.space,
        numbers=plan.delivery is Delivery.NUMBERS,
        bordered=any(plan.border_px),
        sharpened=facts.sharpen_gain > 1,
        media=condition.media,
        profile=condition.facts.profile_description,
        paper=_paper(condition),
        guess=condition.guess,
        tone=ticket.black_and_white,
    )


def _as_ordered(edge_px: int, mm_per_px: float) -> float:
    """An edge of the file in mm: the whole millimetre that was meant, where only the rounding to pixels lies between.

    Picture and two borders are rounded each for itself, by up to half a pixel.
    """
    edge = edge_px * mm_per_px
    return float(round(edge)) if abs(edge - round(edge)) <= min(1.5 * mm_per_px, MOST_ROUNDED_MM) else edge


def _paper(condition: Condition) -> str:
    """The sheet to load, in words: its name, the kind a guess is about, or the one the profile is for."""
    if condition.guess:
        return f"your {(condition.paper or condition.name).removeprefix('generic ')} paper"
    if condition.paper and condition.paper != condition.facts.profile_description:
        return condition.paper
    return f"the paper that '{condition.facts.profile_description}' was made for"


def _heading(ticket: Ticket, condition: Condition, plan: PlanLike, facts: FactsLike, job: _Job) -> list[str]:
    lines = [
        f"Job card for {ticket.id}: {ticket.title}",
        f"File: {job.file}, {facts.width_px} x {facts.height_px} pixels at {_number(facts.density_ppi)} ppi, "
        f"{facts.bits} bits, {_space(job)}",
        f"Picture: {_size(job.picture_mm)}; with its border the file measures {_size(job.file_mm)}"
        if job.bordered
        else f"Picture: {_size(job.picture_mm)}, no border in the file",
        f"For: {condition.name}, profile '{job.profile}'" + (" (a guess, made without measuring)" if job.guess else ""),
    ]
    if len(set(plan.border_px)) > 1:
        sides = zip(("top", "right", "bottom", "left"), plan.border_px, strict=True)
        widths = ", ".join(f"{side} {_number(edge / plan.ppi * MM_PER_INCH)}" for side, edge in sides)
        lines.append(f"Border: {widths} mm, as the picture stands")
    if job.tone is not None:
        lines.append(f"Black and white: {TONES.get(job.tone, job.tone)}. The tone is in the file.")
    if job.numbers:
        lines.append("Delivery: numbers. The conversion to this paper has been done; nothing after this may convert.")
    else:
        lines.append("Delivery: standard. The printer's driver or the lab converts to the paper, once.")
        if facts.beyond_delivery_pct >= 0.1:
            lines.append(f"Colours the standard space can't hold: {facts.beyond_delivery_pct:.1f} % of the picture.")
    return lines


def _own_printer(job: _Job) -> list[str]:
    """Steps at one's own printer."""
    steps = [f"Load {job.paper}, its coated side where the printer prints; let it lie flat and free of dust."]
    if job.numbers:
        if job.space not in ("RGB", "GRAY"):
            steps.append(
                f"This file holds {job.space} ink values: use printing software that passes them to the printer "
                "unchanged; an ordinary driver would turn them into RGB first."
            )
        steps.append(
            "Switch colour management off everywhere after this file: in the program that prints it and in the "
            "driver. The profile is already applied; the embedded one only says which."
        )
    else:
        steps.append(
            "Let the printer's driver convert from sRGB by itself, or, if you have the paper's profile, let the "
            "printing program convert with it: media-relative with black point compensation. One of the two, "
            "never both."
        )
    if job.tone is not None and job.space != "GRAY":
        steps.append(
            "Print it in colour mode: the driver's own black-and-white or greyscale mode, its toning and black ink "
            "alone would mix the greys anew and lose this tone. Set no tint of your own."
        )
    steps += [
        _media(job),
        "Choose the best quality or finest resolution, and slow, one-way printing if you can choose.",
        "Switch off every automatic correction or enhancement of colour, contrast, faces or sharpness.",
        "Print at 100 %, not scaled to fit the page, centred, "
        + ("not borderless: the border is in the file." if job.bordered else "with the margins you want outside it."),
        _ruler(job),
        "Compare the print with the soft proof only when it has dried, in the light it was made for.",
    ]
    return steps


def _media(job: _Job) -> str:
    if job.media:
        return (
            f"Set the media type to '{job.media}', as the profile's maker states it; the profile holds only for that."
        )
    if job.guess or not job.numbers:
        return (
            "Set the media type to what the paper's maker names for your printer; if you can't find it, ask the maker."
        )
    return (
        "Set the media type the profile was made with: it is not on record, so ask the profile's maker. "
        "With another setting the profile does not hold."
    )


def _ruler(job: _Job) -> str:
    width, height = (round(edge, 1) for edge in job.picture_mm)
    slack = max(0.5, max(job.picture_mm) / 300)
    return (
        f"Measure the picture on the print with a ruler: {_number(width)} mm wide and {_number(height)} mm high. "
        f"More than {_number(slack)} mm off means that something scaled it."
    )


def _lab(job: _Job) -> list[str]:
    """Steps with a lab."""
    if job.numbers:
        first = [
            f"Send this file only to a lab whose profile is '{job.profile}'"
            + (" and that takes ink values." if job.space not in ("RGB", "GRAY") else "."),
            "Write with the order: file is already converted to your profile; print the numbers, no conversion, no "
            "correction.",
        ]
    else:
        first = [
            f"Order it on {job.paper}: another paper needs its own file.",
            "Write with the order: sRGB, convert media-relative with black point compensation; no automatic "
            "correction, no enhancement.",
        ]
    if job.tone is not None and job.space != "GRAY":
        first.append("Order it as a colour print: on black-and-white paper or in a greyscale mode its tone is lost.")
    return [
        *first,
        f"Order the format {_size(job.file_mm)} at 100 %: not filled, not cropped, not borderless by enlarging.",
        "No sharpening at the lab: this file is sharpened for the paper."
        if job.sharpened
        else "Output sharpening is not in this file; have none added unless you want it.",
        _ruler(job),
        "Order one small print first if the lab is new to you, and judge it in the light it will hang in.",
    ]


def _text(heading: list[str], own: list[str], lab: list[str], mistakes: tuple[Mistake, ...]) -> str:
    parts = ["\n".join(_wrapped(line) for line in heading)]
    for title, steps in (("At your own printer", own), ("At a lab", lab)):
        parts.append("\n".join([title, *(_wrapped(step, f"{no}. ") for no, step in enumerate(steps, 1))]))
    looks = [f"{m.name}: {m.looks_like} {m.mend}" for m in mistakes]
    parts.append("\n".join(["If the print looks wrong", *(_wrapped(line, "- ") for line in looks)]))
    parts.append("\n".join(["Drying and handling", *(_wrapped(line, "- ") for line in CAUTIONS)]))
    parts.append("Steps, signs and cautions are common practice, no source.")
    return "\n\n".join(parts) + "\n"


def _wrapped(text: str, lead: str = "") -> str:
    return textwrap.fill(text, WIDTH, initial_indent=lead, subsequent_indent=" " * len(lead), break_on_hyphens=False)


def _space(job: _Job) -> str:
    if job.numbers:
        return f"{job.space} values of the printer"
    return "sRGB" if job.space == "RGB" else f"a standard {job.space} space"


def _size(size_mm: Pair) -> str:
    return f"{_number(size_mm[0])} x {_number(size_mm[1])} mm"


def _number(value: float) -> str:
    """One decimal, none when it is a whole number.

    >>> _number(300.0), _number(299.72)
    ('300', '299.7')
    """
    return f"{value:.1f}".removesuffix(".0")
