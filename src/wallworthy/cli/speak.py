"""Answers in sentences: a heading that is a finding, then what stands behind it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

from wallworthy.base.records import Light, Paper
from wallworthy.base.saying import correction_words, seen_correction_words
from wallworthy.base.units import FARTHEST_MM
from wallworthy.journey import answers as a
from wallworthy.journey.appraised import AppraiseAnswer, RungFields
from wallworthy.journey.story import measured_of_sheet, said_of_sheet

GRADES = {
    "as_good": "as good as can be",
    "fine": "fine",
    "little_soft": "a little soft",
    "soft": "soft",
    "too_soft": "too soft",
}
LIKELY = 0.05
"""Explanations less likely than this are told in the JSON only."""


def spoken(answer: a.Answer) -> list[str]:
    """The answer's lines; the first is its heading."""
    match answer:
        case a.PaperAnswer():
            return _paper(answer.paper)
        case a.PapersAnswer():
            return _listed("paper", [_paper(paper)[0] for paper in answer.papers])
        case a.ConditionAnswer():
            return _condition(answer.condition)
        case a.ConditionsAnswer():
            return _listed("condition", [_condition_line(item) for item in answer.conditions])
        case a.LightAnswer():
            return _light(answer.light)
        case a.LightsAnswer():
            return _listed("light", [_light(item)[0] for item in answer.lights])
        case a.DisplayAnswer():
            return _display(answer.display)
        case a.DisplaysAnswer():
            return _listed("display", [_display(item)[0] for item in answer.displays])
        case AppraiseAnswer():
            return _appraise(answer)
        case a.ChooseAnswer():
            return _choose(answer)
        case a.StartAnswer():
            return _start(answer)
        case a.ProofAnswer():
            return _proof(answer)
        case a.TestAnswer():
            return _test(answer)
        case a.JudgeAnswer():
            return _judge(answer)
        case a.ReadbackAnswer():
            return _readback(answer)
        case a.TogetherAnswer():
            return list(answer.sentences)
        case a.HouseAnswer():
            return [*answer.sentences, f"By axis, plus or minus: {_numbers(answer.sd)}."]
        case a.FinalAnswer():
            return _final(answer)
        case a.TicketsAnswer():
            return _listed("ticket", [_ticket_line(item) for item in answer.tickets])
        case a.ShowAnswer():
            return _show(answer)
        case a.DoctorAnswer():
            return _doctor(answer)
        case a.DemoAnswer():
            return [answer.scenario, *answer.sentences, f"The whole walk took {answer.elapsed_s:.0f} s."]
        case _:
            return [type(answer).__name__]


def _listed(kind: str, lines: Sequence[str]) -> list[str]:
    if not lines:
        return [f"No {kind}s yet."]
    return [f"{len(lines)} {kind}{'s' if len(lines) != 1 else ''}", *(f"  {line}" for line in lines)]


def _paper(paper: Paper) -> list[str]:
    line = paper.name
    if paper.surface:
        line += f", {paper.surface}"
    if paper.weight_g_m2:
        line += f", {paper.weight_g_m2:g} g/m²"
    lines = [line]
    if paper.stock:
        lines.append("Left: " + ", ".join(f"{count} of {size}" for size, count in paper.stock.items()) + ".")
    if paper.prices:
        lines.append(
            "A sheet costs " + ", ".join(f"{price:.2f} for {size}" for size, price in paper.prices.items()) + "."
        )
    return lines


def _condition_line(condition: a.ConditionFields) -> str:
    guess = ", a guess" if condition.guess else ""
    return f"{condition.name}: {condition.range_stops:.1f} stops from black to white, {condition.device_space}{guess}"


def _condition(condition: a.ConditionFields) -> list[str]:
    white, black = condition.white_lab, condition.black_lab
    lines = [
        f"{condition.name}: white L* {white[0]:.1f}, black L* {black[0]:.1f}, "
        f"{condition.range_stops:.1f} stops between.",
        f"Profile '{condition.profile_description}', ICC {condition.icc_version}, {condition.device_space}, "
        f"intents {', '.join(condition.intents)}.",
        f"Paper white a* {white[1]:+.1f}, b* {white[2]:+.1f}; greys lean a* {condition.neutral_tint_ab[0]:+.1f}, "
        f"b* {condition.neutral_tint_ab[1]:+.1f}; black density {condition.density_y:.2f} (-log10 Y).",
        f"There and back the profile strays {condition.roundtrip_mean_de00:.2f} dE00 on average, less than "
        f"{condition.roundtrip_p95_de00:.2f} nineteen times in twenty; its colours fill "
        f"{condition.gamut_volume_lab3 / 1000:.0f} thousand Lab³.",
        *(
            (f"Ink and paper keep half the contrast at {condition.ink_spread_per_mm:g} cycles per mm.",)
            if condition.ink_spread_per_mm
            else ()
        ),
        f"Files leave as {_delivery(condition.delivery)}."
        + (f" Media setting: {condition.media}." if condition.media else ""),
    ]
    if condition.guess:
        lines.append("This is a guess for a paper without a profile: take its figures as wide.")
    return lines


def _delivery(delivery: str) -> str:
    if delivery == "numbers":
        return "the condition's own numbers, colour conversion off downstream"
    return "a standard space, the driver or the lab converts"


def _light(light: Light) -> list[str]:
    low, high = light.illuminance_interval_lx
    colour = f", {light.cct_k:.0f} K" if light.cct_k else ""
    return [
        f"{light.name}: {light.illuminance_lx:.0f} lux ({low:.0f} to {high:.0f}){colour}, {light.surround} surround",
        f"A usual paper's white then shines with about {light.paper_white_cd_m2:.0f} cd/m²; "
        f"its colour lies {light.duv_from_d50:.4f} u'v' from D50.",
    ]


def _display(display: a.DisplayFields) -> list[str]:
    white = f", white {display.white_cd_m2:.0f} cd/m²" if display.white_cd_m2 else ", white not measured"
    when = f", calibrated {display.calibrated_on}" if display.calibrated_on else ""
    return [f"{display.name}: {display.profile_description}{white}{when}"]


def _far(distance_mm: float) -> str:
    return f"{distance_mm / 10:.0f} cm" if distance_mm < 3000 else f"{distance_mm / 1000:.1f} m"


def _cm(size_mm: Sequence[float]) -> str:
    return " x ".join(f"{edge / 10:.{1 if edge >= 1 else 2}f}".removesuffix(".0") for edge in size_mm) + " cm"


def _choose(answer: a.ChooseAnswer) -> list[str]:
    light = f" under '{answer.light}'" if answer.light else ""
    best = answer.ranking[0]
    what = "these pictures" if best.pictures else "this picture"
    lines = [f"{best.condition[:1].upper()}{best.condition[1:]} holds {what} best{light}."]
    for number, one in enumerate(answer.ranking, 1):
        lines.append(f"  {number}. {one.condition}: {one.text}")
    return lines


def _start(answer: a.StartAnswer) -> list[str]:
    return [
        f"Ticket {answer.ticket}: {_cm(answer.size_mm)} on {answer.condition}.",
        *answer.sentences,
        f"Seen from {answer.distance_mm / 10:.0f} cm; way '{answer.way}', {seen_correction_words(answer.correction)}.",
        *_in_greys(answer.black_and_white),
    ]


def _in_greys(tone: str | None) -> tuple[str, ...]:
    return () if tone is None else (f"In black and white, tone '{tone}'.",)


def _appraise(answer: AppraiseAnswer) -> list[str]:
    low, high = answer.deficit_interval_jnd
    lines = [*answer.sentences]
    lines.append(f"Deficit {answer.deficit_jnd:.1f} JND ({low:.1f} to {high:.1f}) at {answer.density_ppi:.0f} ppi.")
    lines += [f"  {number}. {found.text}" for number, found in enumerate(answer.findings, 1)]
    if not answer.findings:
        lines.append("Nothing else would show.")
    lines.append("Every size, seen from as far as its own diagonal, and from how near it is still good:")
    lines += [f"  {_cm(rung.size_mm)}: {GRADES[rung.grade]}; {_good_from(rung)}" for rung in answer.ladder]
    return lines


def _good_from(rung: RungFields) -> str:
    far = rung.nearest_good_distance_mm
    return f"good from {_far(far)} on" if far < FARTHEST_MM else f"not good even from {_far(far)}"


def _proof(answer: a.ProofAnswer) -> list[str]:
    dark, light = answer.range_before_lstar
    dark_after, light_after = answer.range_after_lstar
    lines = [*answer.sentences]
    lines += [f"  {number}. {place.text}" for number, place in enumerate(answer.worst, 1)]
    lines += answer.black_and_white.sentences if answer.black_and_white else ()
    lines += answer.keeps
    if answer.pays:
        lines.append(f"Looked after: {'; '.join(answer.must_not_suffer)}. {' '.join(answer.pays)}")
    lines.append(
        f"Loss {answer.loss_mean_de00:.1f} dE00 on average, {answer.loss_p95_de00:.1f} at 95 %, "
        f"{answer.loss_max_de00:.1f} at most."
    )
    lines.append(f"L* {dark:.0f} to {light:.0f} becomes {dark_after:.0f} to {light_after:.0f} on the paper.")
    lines.append(_table_line(answer))
    return lines


def _table_line(answer: a.ProofAnswer) -> str:
    if answer.lut_size is None:
        return f"Way '{answer.way}', {seen_correction_words(answer.correction)}; computed directly, without a table."
    return (
        f"Way '{answer.way}', {seen_correction_words(answer.correction)}; table of {answer.lut_size}³, off by "
        f"{answer.lut_mean_de00:.2f} dE00 on average, {answer.lut_p999_de00:.2f} at 99.9 %, "
        f"{answer.lut_max_de00:.2f} at most."
    )


def _test(answer: a.TestAnswer) -> list[str]:
    many = f"{len(answer.tiles)} tiles on" if len(answer.tiles) != 1 else "one picture on"
    if answer.mode == "prints":
        many = f"{len(answer.tiles)} prints, each of"
    slot = f", quarter {answer.slot} of its sheet" if answer.slot else ""
    lines = [f"Test sheet {answer.sheet_no}: {many} {_cm(answer.sheet_mm)} at {answer.density_ppi:g} ppi{slot}."]
    lines += answer.sentences
    lines += [f"  {tile.code}  {seen_correction_words(tile.correction)}" for tile in answer.tiles]
    lines.append(f"Without it, a print made now would be {answer.expected_de00:.1f} dE00 off, as far as is known.")
    return lines


def _judge(answer: a.JudgeAnswer) -> list[str]:
    heard = "; ".join(" ".join(filter(None, (one.code, one.grade, one.direction))) for one in answer.said)
    lines = [*answer.sentences]
    if heard:
        lines.append(f"Heard: {heard}.")
    lines.append(f"Believed: {seen_correction_words(answer.correction)}; plus or minus {_numbers(answer.sd)}.")
    return lines


def _readback(answer: a.ReadbackAnswer) -> list[str]:
    lines = [*answer.sentences]
    lines += [
        f"  {tile.code}  {tile.de00:.1f} dE00 from what it should be ({'absolute' if answer.absolute else 'relative'})"
        for tile in answer.tiles
    ]
    likely = [fault for fault in answer.faults if fault.probability >= LIKELY]
    lines += [f"  {fault.probability:.0%} {fault.kind.replace('_', ' ')}: {fault.evidence}" for fault in likely]
    if answer.ticked:
        ticks = [" ".join(part for part in (tick.kind, tick.code, tick.direction) if part) for tick in answer.ticked]
        lines.append(f"Ticked: {'; '.join(ticks)}.")
    if answer.measurement_error_de00 is not None:
        lines.append(f"Measured to within about {answer.measurement_error_de00:.1f} dE00.")
    return lines


def _numbers(values: Mapping[str, float]) -> str:
    return ", ".join(f"{axis} {value:.2g}" for axis, value in values.items())


def _final(answer: a.FinalAnswer) -> list[str]:
    lines = [
        f"{_cm(answer.size_mm)} at {answer.density_ppi:g} ppi: {answer.width_px} x {answer.height_px} pixels, "
        f"{answer.bits} bits, {answer.space}, as {_delivery(answer.delivery)}.",
        f"Way '{answer.way}', {seen_correction_words(answer.correction)}.",
        *_in_greys(answer.black_and_white),
    ]
    if answer.sharpen_gain > 1:
        lines.append(
            f"Sharpened for the paper: gain {answer.sharpen_gain:.2f} at most, "
            f"edges overshoot {answer.overshoot_pct:.1f} %."
        )
    if answer.beyond_delivery_pct > 0:
        lines.append(
            f"{answer.beyond_delivery_pct:.2f} % of it can't be held by the delivery space and was moved inside."
        )
    lines.append(f"The job card {answer.card.text} says in steps how to print it.")
    return lines


def _ticket_line(ticket: a.TicketFields) -> str:
    print_ = f"{ticket.title}, {_cm(ticket.size_mm)} on {ticket.condition}"
    return f"{ticket.ticket}  {print_}, {ticket.stage}, {_moment(ticket.updated)}"


def _show(answer: a.ShowAnswer) -> list[str]:
    whose = {"zero": "", "house": ", from your house correction", "user": ", yours"}[answer.correction_origin]
    asked = correction_words(answer.correction)
    lines = [
        f"{answer.ticket}: {answer.title}, {_cm(answer.size_mm)} on {answer.condition}, {answer.stage}.",
        f"Way '{answer.way}', {asked}{whose}.",
        *_in_greys(answer.black_and_white),
    ]
    if answer.must_not_suffer:
        lines.append(f"What must not suffer: {'; '.join(answer.must_not_suffer)}.")
    if answer.hangs_with:
        lines.append(f"Hangs together with {', '.join(answer.hangs_with)}.")
    promise = answer.promise
    if promise.promised:
        stale = ", of the print as it was then" if answer.proof_stale else ""
        lines.append(
            f"Promised by the last proof{stale}: {promise.promised['loss_mean_de00']:.1f} dE00 lost on average, "
            f"{promise.promised['loss_p95_de00']:.1f} at 95 %."
        )
    if promise.said:
        lines.append(said_of_sheet(promise.said))
    if promise.measured:
        lines.append(measured_of_sheet(promise.measured))
    return [*lines, *(f"  {_moment(event.at)}  {event.text}" for event in answer.events)]


def _moment(at: str) -> str:
    """A time of the record on this machine's clock, to the minute."""
    return datetime.fromisoformat(at).astimezone().strftime("%Y-%m-%d %H:%M")


def _doctor(answer: a.DoctorAnswer) -> list[str]:
    bad = [check for check in answer.checks if not check.ok]
    heading = "Everything is in order." if not bad else f"{len(bad)} of {len(answer.checks)} checks need a look."
    lines = [f"  {'ok  ' if check.ok else 'look'}  {check.name}: {check.text}" for check in answer.checks]
    return [
        heading,
        *lines,
        "Versions: " + ", ".join(f"{name} {number}" for name, number in answer.versions.items()) + ".",
    ]
