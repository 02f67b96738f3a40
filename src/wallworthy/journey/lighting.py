"""What the light does to a print, and what a photo of a blank sheet tells of the light."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

from wallworthy.base.records import Correction, Display, Light, Notice
from wallworthy.base.ticket import Ticket
from wallworthy.colour.lab import lab_to_xyz
from wallworthy.proof import light_words as say
from wallworthy.proof.lights import light_text, paper_white_cd_m2
from wallworthy.proof.screen import screen_of
from wallworthy.proof.seen import Eye, as_seen, colourfulness_share, eye_under, wanted_lightness

if TYPE_CHECKING:
    from wallworthy.journey.chain import Job
    from wallworthy.proof.exposure import SheetLight

PHOTO_PX: Final = 400


@dataclass(frozen=True, slots=True)
class Room:
    """A print in its light, in words; the offer is a whole correction, the ticket's with the lightness added."""

    sentences: tuple[str, ...]
    notices: tuple[Notice, ...]
    offer: Correction | None


def eye_of(job: Job, light: Light, display: Display) -> Eye:
    """The eye at this paper in that light, and at the display."""
    return eye_under(light, job.output.white_xyz[1], display.white_cd_m2)


def in_light(ticket: Ticket, job: Job, display: Display, light: Light) -> Room:
    """What there is to say of a print in a light: its look, colour and brightness, cautions, and an offer.

    Nothing is offered over a correction that is there already, for then somebody has looked.
    """
    import numpy as np

    paper_y = job.output.white_xyz[1]
    facts = job.condition.facts
    black_y = float(lab_to_xyz(facts.black_lab)[1])
    white = as_seen(np.array(facts.white_lab), eye_of(job, light, display))
    cast = (float(white[1] - facts.white_lab[1]), float(white[2] - facts.white_lab[2]))
    dimmed = 1 - screen_of(display.profile).room_for(white)
    sentences = [
        say.looks_there(light, colourfulness_share(light, paper_y), cast, dimmed if dimmed >= 0.01 else 0.0),
        *light_text(light, paper=False),
    ]
    notices: list[Notice] = []
    lightness = wanted_lightness(light, paper_y, black_y)
    offer = None
    if lightness and ticket.correction.is_none:
        offer = replace(ticket.correction, lightness=lightness)
        command = f"wallworthy proof {ticket.id} --correct lightness={lightness:g}"
        notices.append(Notice("light_wants", say.wants(light, lightness, command)))
    cannot = say.screen_cannot(paper_white_cd_m2(light.illuminance_lx, paper_y))
    if cannot is not None:
        notices.append(Notice("display_cannot_match", cannot))
    bright = say.brighteners(facts.white_lab[2])
    if bright is not None:
        notices.append(Notice("brighteners", bright))
    return Room(tuple(sentences), tuple(notices), offer)


def photographed(path: Path) -> SheetLight:
    """Lux from a photo of a blank sheet. Raises InputError as opening a master does, and for what is no such photo."""
    from wallworthy.colour.working import working_to_lab
    from wallworthy.master.open import open_master
    from wallworthy.master.source import working_source
    from wallworthy.proof.exposure import sheet_light
    from wallworthy.raster.scale import scaled_picture

    master = open_master(path)
    source = working_source(master)
    shrink = min(1.0, PHOTO_PX / max(source.width_px, source.height_px))
    size = max(1, round(source.width_px * shrink)), max(1, round(source.height_px * shrink))
    return sheet_light(lab_to_xyz(working_to_lab(scaled_picture(source, *size)))[..., 1], master.capture)
