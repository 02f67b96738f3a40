"""Conditions: taking in a profile, measuring it, and the generic guesses for papers without one."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Final, Literal, cast, get_args

from wallworthy.base.errors import InputError
from wallworthy.base.records import Condition, Delivery, Notice, Paper
from wallworthy.base.saying import as_word
from wallworthy.icc.find import FoundProfile, find_profiles
from wallworthy.icc.read import Profile, parse_profile, require_output
from wallworthy.journal.belongings import name_taken
from wallworthy.journal.journal import Journal
from wallworthy.journey.answers import ConditionAnswer, ConditionFields, ConditionsAnswer
from wallworthy.journey.home import opened

GenericSurface = Literal["gloss", "lustre", "matt"]

COARSE_DE00: Final = 3.0
DARKEST_DENSITY: Final = 2.9
"""-log10 Y beyond which no photo paper's black lies (REFERENCE: baryta to 2.7). Common practice, no source."""


def add_condition(
    home: Path | None,
    name: str,
    place: Path,
    *,
    pick: str | None = None,
    paper: str | None = None,
    delivery: str | None = None,
    media: str | None = None,
) -> ConditionAnswer:
    """Take in a profile from a file, ZIP or folder, and measure through the CMM what it says."""
    how = parse_delivery(delivery)
    profile = pick_profile(place, pick)
    with opened(home) as journal:
        if name in journal.conditions:
            raise name_taken("condition", name)
        if paper is not None:
            paper = journal.papers.get(paper).name
        kept = journal.conditions.add(measured(name, profile, paper=paper, delivery=how, media=media))
    return ConditionAnswer(
        condition=condition_fields(kept),
        notices=condition_notices(kept),
        next=f"Start a print on it: 'wallworthy start MASTER --size A4 --on {as_word(kept.name)}'.",
    )


def list_conditions(home: Path | None) -> ConditionsAnswer:
    with opened(home) as journal:
        conditions = journal.conditions.list()
    return ConditionsAnswer(
        conditions=tuple(condition_fields(condition) for condition in conditions),
        next="'wallworthy condition show NAME' shows one."
        if conditions
        else "Add one with 'wallworthy condition add NAME --profile FILE'.",
    )


def show_condition(home: Path | None, name: str) -> ConditionAnswer:
    with opened(home) as journal:
        condition = journal.conditions.get(name)
    return ConditionAnswer(
        condition=condition_fields(condition),
        notices=condition_notices(condition),
        next=f"Start a print on it: 'wallworthy start MASTER --size A4 --on {as_word(condition.name)}'.",
    )


def parse_delivery(text: str | None) -> Delivery:
    """`numbers` unless said otherwise. Raises InputError for another word."""
    try:
        return Delivery(text) if text is not None else Delivery.NUMBERS
    except ValueError:
        raise InputError(
            "delivery_unknown",
            f"'{text}' is not a delivery I know.",
            "A delivery is 'numbers' (the condition's own device values) or 'standard' (sRGB, converted downstream).",
            where="--delivery",
        ) from None


def profile_choices(place: Path) -> tuple[str, ...]:
    """The descriptions of the usable output profiles in a file, ZIP or folder, in `--pick` order."""
    return tuple(found.description for found in usable_of(find_profiles(place)))


def pick_profile(place: Path, pick: str | None) -> Profile:
    """The one output profile meant: the only usable one, or `pick` by number or part of its description."""
    found = find_profiles(place)
    usable = usable_of(found)
    if not usable:
        raise _none_usable(place, found)
    if pick is None and len(usable) == 1:
        return parsed_of(usable[0])
    if pick is not None:
        meant = [item for item in usable if pick.strip().lower() in item.description.lower()]
        exact = [item for item in meant if item.description.lower() == pick.strip().lower()]
        if pick.strip().isdigit() and 1 <= int(pick) <= len(usable):
            meant = [usable[int(pick) - 1]]
        elif exact:
            meant = exact[:1]
        if len(meant) == 1:
            return parsed_of(meant[0])
    listed = "; ".join(f"{number} {item.description}" for number, item in enumerate(usable, 1))
    raise InputError(
        "profile_choice",
        f"{place.name} holds {len(usable)} profiles"
        + (f" and '{pick}' does not name one of them." if pick is not None else "."),
        f"Add --pick with a number or part of a description: {listed}.",
        where="--pick",
    )


def taken_in(journal: Journal, profile: Profile) -> Condition:
    """A condition for a profile named while starting: the one there is, or a new one with its paper."""
    known = _of_profile(journal, profile)
    if known is not None:
        return known
    described = profile.description or "Unnamed profile"
    condition = measured(described, profile, paper=described, delivery=Delivery.NUMBERS, media=None)
    with journal.write():
        known = _of_profile(journal, profile)  # another process may have taken it in by now
        if known is not None:
            return known
        name = _free_name(journal, described)
        journal.papers.add(Paper(name))
        return journal.conditions.add(replace(condition, name=name, paper=name))


def _of_profile(journal: Journal, profile: Profile) -> Condition | None:
    for condition in journal.conditions.list():
        if condition.profile_sha256 == profile.sha256:
            journal.store.put(profile.data)  # mends the stored profile, should it be missing
            return journal.conditions.get(condition.name)
    return None


def generic_condition(journal: Journal, surface: str) -> Condition:
    """The built-in guess for a surface, made and remembered on first use."""
    kind = _generic_surface(surface)
    name = f"generic {kind}"
    if name in journal.conditions:
        return journal.conditions.get(name)
    condition = generic_of(kind)
    with journal.write():
        if name in journal.conditions:  # another process has made it by now
            return journal.conditions.get(name)
        if name not in journal.papers:
            journal.papers.add(Paper(name, kind))
        return journal.conditions.add(condition)


def generic_of(surface: str) -> Condition:
    """The built-in guess for gloss, lustre or matt; its files leave in a standard space."""
    from wallworthy.characterise.generic import generic_profile

    kind = _generic_surface(surface)
    name = f"generic {kind}"
    profile = parse_profile(generic_profile(kind), name)
    return measured(name, profile, paper=name, delivery=Delivery.STANDARD, media=None, guess=True)


def _generic_surface(surface: str) -> GenericSurface:
    if surface not in get_args(GenericSurface):
        raise InputError(
            "surface_unknown",
            f"There is no generic paper called '{surface}'.",
            f"--paper takes {', '.join(get_args(GenericSurface))}; for a paper of your own use --on or --profile.",
            where="--paper",
        )
    return cast(GenericSurface, surface)


def condition_notices(condition: Condition, delivery: Delivery | None = None) -> tuple[Notice, ...]:
    """What to know about a condition before trusting it; delivery: how this file leaves, if not by its own."""
    notices: list[Notice] = []
    if condition.guess:
        notices.append(
            Notice("guess", f"'{condition.name}' is a guess for such papers, not a measurement: expect wider errors.")
        )
    if condition.facts.roundtrip_p95_de00 > COARSE_DE00:
        notices.append(
            Notice(
                "profile_coarse",
                f"There and back, one colour in twenty strays more than {condition.facts.roundtrip_p95_de00:.1f} dE00 "
                "in this profile: its own promise is no better than that.",
            )
        )
    if condition.facts.density_y > DARKEST_DENSITY:
        notices.append(
            Notice(
                "black_unbelievable", "This profile claims a black darker than any paper has: take its range lightly."
            )
        )
    if (delivery or condition.delivery) is Delivery.NUMBERS and condition.facts.device_space not in ("RGB", "GRAY"):
        notices.append(
            Notice(
                "ink_numbers",
                f"The final will hold {condition.facts.device_space} ink values, for presses and labs that ask for "
                "them; for an ordinary printer's driver or an sRGB lab use 'final --delivery standard'.",
            )
        )
    return tuple(notices)


def condition_fields(condition: Condition) -> ConditionFields:
    facts = condition.facts
    return ConditionFields(
        name=condition.name,
        paper=condition.paper,
        profile_sha256=condition.profile_sha256,
        profile_description=facts.profile_description,
        icc_version=facts.icc_version,
        device_space=facts.device_space,
        intents=facts.intents,
        delivery=condition.delivery,
        media=condition.media,
        white_lab=facts.white_lab,
        black_lab=facts.black_lab,
        neutral_tint_ab=facts.neutral_tint_ab,
        density_y=facts.density_y,
        range_stops=facts.range_stops,
        roundtrip_mean_de00=facts.roundtrip_mean_de00,
        roundtrip_p95_de00=facts.roundtrip_p95_de00,
        gamut_volume_lab3=facts.gamut_volume_lab3,
        guess=condition.guess,
        ink_spread_per_mm=condition.ink_spread_per_mm,
    )


def measured(
    name: str, profile: Profile, *, paper: str | None, delivery: Delivery, media: str | None, guess: bool = False
) -> Condition:
    """A condition with what the CMM says of its profile."""
    from wallworthy.icc.measure import measure_condition

    return Condition(
        name=name,
        paper=paper,
        profile=profile.data,
        profile_sha256=profile.sha256,
        delivery=delivery,
        media=media,
        guess=guess,
        facts=measure_condition(profile),
    )


def usable_of(found: tuple[FoundProfile, ...]) -> list[FoundProfile]:
    return [item for item in found if item.problem is None and output_problem(item) is None]


def output_problem(item: FoundProfile) -> InputError | None:
    try:
        require_output(parsed_of(item))
    except InputError as error:
        return error
    return None


def parsed_of(item: FoundProfile) -> Profile:
    return parse_profile(item.data, item.name)


def _none_usable(place: Path, found: tuple[FoundProfile, ...]) -> InputError:
    if len(found) == 1:
        try:
            problem = output_problem(found[0])
        except InputError as error:
            problem = error
        if problem is not None:
            return problem
    why = "; ".join(f"{item.name}: {item.problem or output_problem(item)}" for item in found[:5])
    return InputError(
        "no_profile",
        f"{place.name} holds no output profile I can use" + (f" ({why})." if why else "."),
        "Name a printer profile (.icc or .icm), a ZIP of them, or a folder.",
        where=str(place),
    )


def _free_name(journal: Journal, wanted: str) -> str:
    name, number = wanted, 1
    while name in journal.conditions or name in journal.papers:
        number += 1
        name = f"{wanted} ({number})"
    return name
