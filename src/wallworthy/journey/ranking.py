"""Which of the papers holds a picture best: each tried at viewing resolution, ranked by what it loses, with reasons."""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, replace
from itertools import product, repeat
from pathlib import Path
from typing import Final

import numpy as np
from numpy.typing import NDArray

from wallworthy.base.errors import InputError
from wallworthy.base.progress import Progress, silent
from wallworthy.base.records import Condition, Light, Master, Notice, Way, WorstPlace
from wallworthy.base.saying import command_words
from wallworthy.base.ticket import HangsWith, WrittenFile
from wallworthy.base.units import parse_length_mm, parse_size
from wallworthy.colour.ciede2000 import ciede2000
from wallworthy.colour.float32 import planes_of, scale_white32, working_to_lab32
from wallworthy.fit.compose import direct
from wallworthy.fit.eye import TEXTURE_DEG
from wallworthy.fit.figures import SHADOWS_LSTAR, TextureKept
from wallworthy.icc.gamut import surface
from wallworthy.icc.quick import print_lab
from wallworthy.icc.standard import srgb_profile
from wallworthy.journey.answers import ChooseAnswer
from wallworthy.journey.assuming import assumed
from wallworthy.journey.chain import Job, guard_masters, job_of, refuse_existing, refuse_master
from wallworthy.journey.choosing import as_wanted, hanging_together, printed_by
from wallworthy.journey.contact import Shown, contact_picture
from wallworthy.journey.home import home_folder, opened, written
from wallworthy.journey.looked import Looked, looked_at
from wallworthy.journey.parts import PictureRankFields, RankFields
from wallworthy.journey.ranking_words import reason
from wallworthy.journey.sizing import Shot, parse_crop, placed, shot_of
from wallworthy.journey.tickets import light_of, parse_tone, parse_way
from wallworthy.master.open import open_master
from wallworthy.proof.displays import display_from
from wallworthy.proof.lights import paper_white_cd_m2
from wallworthy.proof.screen import screen_of
from wallworthy.proof.seen import REFERENCE_LX, as_seen, eye_under, seen_table
from wallworthy.proof.soft import Printed, Proof, make_proof
from wallworthy.raster.form import FileForm
from wallworthy.raster.write import write_picture

Float = NDArray[np.float32]

COUNTED: Final = 8000
"""Pixels, evenly spread, of which it is asked whether the paper can hold them."""
SEEN: Final = 40_000
"""Pixels that are looked at in the light."""
SPREAD_PPI: Final = 96.0
CONTACT_NODES: Final = 33


@dataclass(frozen=True, slots=True)
class ChooseWish:
    """What is asked, in the person's words; several masters are a set for one wall."""

    masters: tuple[Path, ...]
    size: str
    light: str | None = None
    distance: str | None = None
    way: str | None = None
    black_and_white: str | None = None
    out: Path | None = None
    crop: str | None = None
    fill: bool = False
    assume: Path | None = None
    force: bool = False


@dataclass(frozen=True, slots=True)
class Tried:
    """A picture on one condition: figures (percent as 0-100) and the proof's small picture."""

    title: str
    condition: Condition
    loss_mean_de00: float
    loss_p95_de00: float
    out_of_range_pct: float
    texture_kept_pct: float
    proof: Proof = field(repr=False)
    worst: tuple[WorstPlace, ...]
    paper_y: float
    pictures: tuple[Tried, ...] = ()
    """Of a set: its pictures, whose worst this is; the figures are the set's."""


def choose_condition(home: Path | None, wish: ChooseWish, progress: Progress = silent) -> ChooseAnswer:
    """Rank all owned conditions for a picture or a set; the contact picture when asked for. Raises InputError."""
    size = parse_size(wish.size)
    way, tone = parse_way(wish.way), parse_tone(wish.black_and_white)
    distance = None if wish.distance is None else parse_length_mm(wish.distance)
    masters = tuple(open_master(path, assume=assumed(wish.assume, path)) for path in wish.masters)
    refuse_crop_of_set(masters, wish.crop)
    places = [placed(master, size, parse_crop(wish.crop, master), fill=wish.fill) for master in masters]
    with opened(home) as journal:
        if wish.out is not None:
            guard_masters(journal, wish.out)
            for master in masters:
                check_contact(wish.out, master, force=wish.force)
        light = None if wish.light is None else light_of(journal, wish.light)
        conditions = tuple(journal.conditions.get(name) for name in journal.conditions.names())
    shots = tuple(shot_of(master, place, distance) for master, place in zip(masters, places, strict=True))
    tried = try_set(
        shots, conditions, light=light, way=way, black_and_white=tone, home=home_folder(home), progress=progress
    )
    files = () if wish.out is None else (write_contact(tried, light, wish.out, overwrite=wish.force),)
    return answer_of(tried, light, files, _started(wish, tried[0].condition.name))


def _started(wish: ChooseWish, best: str) -> str:
    """The command that starts a ticket as was wished, on the best paper."""
    options = {
        "--size": wish.size,
        "--on": best,
        "--light": wish.light,
        "--from": wish.distance,
        "--way": wish.way,
        "--black-and-white": wish.black_and_white,
        "--crop": wish.crop,
        "--fill": wish.fill,
        "--assume": wish.assume,
    }
    return command_words(("wallworthy", "start", str(wish.masters[0])), options)


def refuse_crop_of_set(masters: Sequence[Master], crop: object) -> None:
    """Refuse no picture at all, one named twice, and one part for several pictures. Raises InputError."""
    if not masters:
        raise InputError("no_pictures", "There is no picture to rank papers for.", "Give one master or more.")
    seen: set[str] = set()
    for master in masters:
        if master.sha256 in seen:
            text = f"'{Path(master.path).name}' is in the set already."
            raise InputError("picture_twice", text, "Name each picture once.", where=master.path)
        seen.add(master.sha256)
    if crop is not None and len(masters) > 1:
        raise InputError("crop_of_set", "A crop is for one picture.", "Leave it out, or rank each picture by itself.")


def check_contact(target: Path, master: Master, *, force: bool) -> None:
    """Refuse a contact picture's place that can't be, is taken, or is the master. Raises InputError."""
    if target.suffix.lower() != ".png" or not target.parent.is_dir():
        raise InputError(
            "contact_target", f"{target} can't hold the contact picture.", "Name a PNG in a folder that is there."
        )
    refuse_master(target, master.path)
    refuse_existing(target, force=force)


def try_set(
    shots: Sequence[Shot],
    conditions: Sequence[Condition],
    *,
    light: Light | None,
    way: Way,
    black_and_white: str | None = None,
    must_not_suffer: tuple[str, ...] = (),
    hangs_with: HangsWith | None = None,
    home: Path | None = None,
    progress: Progress = silent,
    threads: int = 2,
) -> tuple[Tried, ...]:
    """Every condition tried on every picture of a set, least loss first; ways chosen for pictures share one tone curve.

    hangs_with: a set they belong to already, whose curve it then is; without one, several pictures are a set.
    home: where pictures may be kept as proofs read them.
    must_not_suffer: what a chosen way looks after, as tickets keep it. Raises InputError when there is no condition.
    """
    if not conditions:
        raise InputError(
            "no_conditions",
            "There is no paper to choose from yet.",
            "Add some with 'wallworthy condition add NAME --profile FILE', or start a ticket with --paper gloss.",
        )
    done: list[int] = []

    def job(shot: Shot, condition: Condition, way: Way, tones: HangsWith | None = None) -> Job:
        return job_of(
            shot.master,
            condition,
            size_mm=shot.size_mm,
            distance_mm=shot.distance_mm,
            way=way,
            crop_px=shot.crop_px,
            black_and_white=black_and_white,
            must_not_suffer=must_not_suffer,
            hangs_with=tones,
        )

    def attempt(pair: tuple[tuple[Shot, Looked], Condition]) -> Tried:
        (shot, looked), condition = pair
        found = tried_on(job(shot, condition, way, tones), light, looked)
        done.append(1)
        progress("trying papers", len(done) / len(conditions) / len(shots))
        return found

    progress("reading the masters" if len(shots) > 1 else "reading the master", 0.0)
    plain = [job(shot, conditions[0], Way.RELATIVE_BPC) for shot in shots]
    looks = [looked_at(replace(one, way=way), home) for one in plain]
    tones = hangs_with
    if tones is None and way.is_chosen and len(shots) > 1:
        tones = hanging_together(plain)
    with ThreadPoolExecutor(threads) as pool:
        found = list(pool.map(attempt, product(zip(shots, looks, strict=True), conditions)))
    tried = [_as_one(found[first :: len(conditions)]) for first in range(len(conditions))]
    return tuple(sorted(tried, key=lambda one: (one.loss_mean_de00, one.loss_p95_de00, one.condition.name)))


def _as_one(pictures: Sequence[Tried]) -> Tried:
    """A set on one condition: the mean of what its pictures lose, and its worst picture's words."""
    if len(pictures) == 1:
        return pictures[0]
    worst = max(pictures, key=lambda one: one.loss_mean_de00)
    return replace(
        worst,
        loss_mean_de00=float(np.mean([one.loss_mean_de00 for one in pictures])),
        loss_p95_de00=max(one.loss_p95_de00 for one in pictures),
        out_of_range_pct=float(np.mean([one.out_of_range_pct for one in pictures])),
        texture_kept_pct=min(one.texture_kept_pct for one in pictures),
        pictures=tuple(pictures),
    )


def tried_on(job: Job, light: Light | None, looked: Looked | None = None) -> Tried:
    """One condition's figures, at viewing resolution; looked: its picture, when it is read already.

    The loss is the proof's without a light; with one, that between master and print as both look under it.
    """
    looked = looked or looked_at(job, None)
    picture, px_per_degree = looked.small, looked.px_per_degree
    px_per_mm = picture.shape[1] / job.size_mm[0]
    chain = direct(job.output, job.way, job.correction, job.source)
    lab_of = printed_by(job, lambda pixels: print_lab(job.output, chain(pixels)), px_per_mm)
    display = display_from("sRGB screen", space="srgb")
    wanted = as_wanted(job, picture)
    drawn_out = job.way is Way.DETAIL  # for which the whole, small picture is needed
    proof = make_proof(
        wanted,
        lambda _: lab_of(picture),
        job.output,
        display,
        shown_px=job.shown_px,
        px_per_mm=px_per_mm,
        places=drawn_out,
    )
    before = working_to_lab32(planes_of(wanted)).T.reshape(picture.shape)
    after = proof.lab
    beyond, out_of_range = _beyond(job, before)
    place = beyond | (before[..., 0] < SHADOWS_LSTAR)
    tones, printed = before[..., 0].astype(np.float64), after[..., 0].astype(np.float64)
    kept = TextureKept(tones, printed, TEXTURE_DEG * px_per_degree).within(place)
    mean, p95 = proof.report.loss_mean_de00, proof.report.loss_p95_de00
    if light is not None:
        mean, p95 = _loss_in(light, job, before, after)
    return Tried(
        title=Path(job.master.path).stem,
        condition=job.condition,
        loss_mean_de00=mean,
        loss_p95_de00=p95,
        out_of_range_pct=100 * out_of_range,
        texture_kept_pct=100.0 if np.isnan(kept) else 100 * kept,
        proof=proof,
        worst=proof.report.worst if drawn_out else _worst(job, chain, looked.pairs),
        paper_y=job.output.white_xyz[1],
    )


def _worst(job: Job, chain: Printed, pairs: Float) -> tuple[WorstPlace, ...]:
    """The places that lose most, as the proof tells them."""
    return make_proof(
        as_wanted(job, pairs),
        lambda _: print_lab(job.output, chain(pairs)),
        job.output,
        display_from("sRGB screen", space="srgb"),
        shown_px=job.shown_px,
        px_per_mm=pairs.shape[1] / job.size_mm[0],
        in_pairs=True,
    ).report.worst


def _beyond(job: Job, lab: Float) -> tuple[NDArray[np.bool_], float]:
    """Where the paper can't hold the picture (H, W), and the share by the proof's measure, of pixels evenly spread."""
    held = surface(job.output)
    outside = ~held.inside(lab)
    few = lab.reshape(-1, 3)[:: max(1, outside.size // COUNTED)]
    tolerance = 1.0 + job.condition.facts.roundtrip_p95_de00
    return outside, float((held.beyond_de00(few) > tolerance).mean())


def _loss_in(light: Light, job: Job, before: Float, after: Float) -> tuple[float, float]:
    """Mean and 95 % of dE00 between master and print as both look in a light, told as they would look at 500 lux."""
    paper_y = job.output.white_xyz[1]
    eye = eye_under(light, paper_y, paper_white_cd_m2(REFERENCE_LX, paper_y))
    step = max(1, before[..., 0].size // SEEN)
    seen = (as_seen(lab.reshape(-1, 3)[::step].astype(np.float64), eye) for lab in (before, after))
    away = ciede2000(*seen)
    return float(away.mean()), float(np.quantile(away, 0.95))


def write_contact(tried: Sequence[Tried], light: Light | None, target: Path, *, overwrite: bool) -> WrittenFile:
    """Write the contact picture as PNG, best first, in the light if there is one.

    Raises InputError or TroubleError; the file is whole or absent.
    """
    pictures = [picture for one in tried for picture in one.pictures or (one,)]
    with ThreadPoolExecutor(2) as pool:
        images = pool.map(drawn, pictures, repeat(light))
    shown: list[Shown] = []
    for number, one in enumerate(tried, 1):
        for picture in one.pictures or (one,):
            image, white = next(images)
            title = f"{number}  {one.condition.name}" + (f": {picture.title}" if one.pictures else "")
            shown.append(Shown(image, white, title, f"{picture.loss_mean_de00:.1f} dE00 lost on average"))
    picture = contact_picture(shown, columns=len(tried[0].pictures) or None)
    form = FileForm("png", picture.shape[1], picture.shape[0], 3, 8, "RGB", SPREAD_PPI, srgb_profile())
    write_picture(target, [picture], form, overwrite=overwrite)
    return written("contact", target)


def drawn(one: Tried, light: Light | None) -> tuple[NDArray[np.uint8], NDArray[np.uint8]]:
    """The print for an sRGB display, 8 bits (H, W, 3), and its bare paper (3,)."""
    screen = screen_of(srgb_profile())
    white = np.array(one.condition.facts.white_lab, dtype=np.float32)
    lab = np.concatenate([white[None], one.proof.lab_absolute.reshape(-1, 3)])
    if light is not None:
        lab = seen_table(eye_under(light, one.paper_y), CONTACT_NODES)(lab)
    dimming = screen.room_for(lab[0].astype(np.float64))
    planes = scale_white32(planes_of(lab), np.full(3, dimming))
    device, _ = screen.encode(np.ascontiguousarray(planes.T))
    codes = np.rint(device * 255).astype(np.uint8)
    return codes[1:].reshape(one.proof.lab.shape), codes[0]


def answer_of(tried: Sequence[Tried], light: Light | None, files: tuple[WrittenFile, ...], start: str) -> ChooseAnswer:
    """The ranking in fields and words; start: the command that opens a ticket on the best."""
    best = tried[0]
    ranking = tuple(
        RankFields(
            condition=one.condition.name,
            loss_mean_de00=one.loss_mean_de00,
            loss_p95_de00=one.loss_p95_de00,
            out_of_range_pct=one.out_of_range_pct,
            texture_kept_pct=one.texture_kept_pct,
            text=reason(one, best, light),
            pictures=tuple(
                PictureRankFields(
                    title=each.title, loss_mean_de00=each.loss_mean_de00, loss_p95_de00=each.loss_p95_de00
                )
                for each in one.pictures
            ),
        )
        for one in tried
    )
    return ChooseAnswer(
        ranking=ranking,
        light=None if light is None else light.name,
        notices=guessed(tried),
        files=files,
        next=f"Start a ticket on it: '{start}'."
        if not best.pictures
        else f"Start a ticket on it for each picture, as for the first: '{start}'.",
    )


def guessed(tried: Sequence[Tried]) -> tuple[Notice, ...]:
    """That some of the papers are guesses, when they are."""
    if not any(one.condition.guess for one in tried):
        return ()
    return (Notice("guess", "Papers without a profile are guesses: their place may be wrong by one or two."),)
