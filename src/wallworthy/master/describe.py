"""A master in words."""

from __future__ import annotations

from wallworthy.base.records import Master

SPACE_WORDS = {"RGB": "RGB", "GRAY": "grey", "CMYK": "CMYK", "LAB": "Lab"}


def describe(master: Master) -> tuple[str, ...]:
    """Sentences about the file: what it is, whose colours it holds, how it was taken."""
    megapixels = master.width_px * master.height_px / 1e6
    amount = f"{megapixels:.1f} megapixels" if megapixels >= 0.1 else "a tiny picture"
    kind = f"{master.bits}-bit {'floating-point ' if master.floating else ''}{SPACE_WORDS[master.space]}"
    sentences = [f"A {master.format} of {master.width_px} x {master.height_px} pixels ({amount}), {kind}."]
    if master.profile_description is not None:
        how = "taken as" if master.assumed else "by its profile"
        sentences.append(f"Its colours are {how} '{master.profile_description}'.")
    taken = [master.capture[fact] for fact in ("exposure", "aperture", "focal_length") if fact in master.capture]
    if "iso" in master.capture:
        taken.append(f"ISO {master.capture['iso']}")
    camera = master.capture.get("camera", "")
    lens = f", {master.capture['lens']}" if "lens" in master.capture else ""
    when = f" on {master.capture['taken'][:10]}" if "taken" in master.capture else ""
    if camera or taken or when:
        with_what = f" with {camera}{lens}" if camera else ""
        sentences.append(f"Taken{with_what}{when}{': ' + ', '.join(taken) if taken else ''}.")
    return tuple(sentences)
