"""Two drawings of the proof of worth, written as SVG by hand: greys, lines and words only."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from benchmarks.trial.measure import Figures

WIDTH, HEIGHT = 720, 440
LEFT, RIGHT, TOP, BOTTOM = 70, 20, 40, 56


def distance_by_sheets(series: Sequence[tuple[str, Sequence[tuple[str, Figures]]]]) -> str:
    """Mean distance left against mean sheets a picture; one line of points for each way of printing."""
    points = [figure for _, line in series for _, figure in line]
    most = max(figure.sheets for figure in points) + 0.4
    highest = max(figure.left_jnd for figure in points) + 0.1
    x = _scale(0.5, most, LEFT, WIDTH - RIGHT)
    y = _scale(0.4, highest, HEIGHT - BOTTOM, TOP)
    parts = _frame(
        "What is left after how much paper (simulated people)",
        "test sheets for each picture, mean of five pictures",
        "distance left, JND",
        [(x(value / 2), f"{value / 2:g}") for value in range(1, int(most * 2) + 1)],
        [(y(value / 5), f"{value / 5:g}") for value in range(2, int(highest * 5) + 1)],
    )
    for number, (name, line) in enumerate(series):
        ordered = sorted(line, key=lambda item: item[1].sheets)
        path = " ".join(f"{x(figure.sheets):.1f},{y(figure.left_jnd):.1f}" for _, figure in ordered)
        parts.append(
            f'<polyline points="{path}" fill="none" stroke="#141414" stroke-width="{2.4 - 0.7 * number:.1f}"/>'
        )
        for label, figure in ordered:
            parts.append(_mark(number, x(figure.sheets), y(figure.left_jnd)))
            parts.append(_text(x(figure.sheets) + 8, y(figure.left_jnd) - 7, label, 12))
        parts += [_mark(number, LEFT + 30, TOP + 16 + 20 * number), _text(LEFT + 44, TOP + 20 + 20 * number, name)]
    return _drawing(parts)


def sheets_by_picture(lines: Sequence[tuple[str, Sequence[float]]]) -> str:
    """Mean sheets of the first to the fifth picture."""
    highest = max(max(values) for _, values in lines) + 0.3
    x = _scale(0.7, 6.6, LEFT, WIDTH - RIGHT)
    y = _scale(0, highest, HEIGHT - BOTTOM, TOP)
    parts = _frame(
        "Test sheets from picture to picture (simulated people)",
        "picture on the same paper, in the same light",
        "test sheets, mean",
        [(x(value), str(value)) for value in range(1, 6)],
        [(y(value), str(value)) for value in range(int(highest) + 1)],
    )
    for number, (name, values) in enumerate(lines):
        placed = [(x(place + 1), y(value)) for place, value in enumerate(values)]
        path = " ".join(f"{px:.1f},{py:.1f}" for px, py in placed)
        parts.append(
            f'<polyline points="{path}" fill="none" stroke="#141414" stroke-width="{2.4 - 0.7 * number:.1f}"/>'
        )
        parts += [_mark(number, px, py) for px, py in placed]
        parts.append(_text(placed[-1][0] + 12, placed[-1][1] + 5, name))
    return _drawing(parts)


def _scale(low: float, high: float, start: float, end: float) -> Callable[[float], float]:
    return lambda value: start + (value - low) / (high - low) * (end - start)


def _frame(
    title: str, across: str, upward: str, x_ticks: Sequence[tuple[float, str]], y_ticks: Sequence[tuple[float, str]]
) -> list[str]:
    base = HEIGHT - BOTTOM
    parts = [
        f'<rect width="{WIDTH}" height="{HEIGHT}" fill="#f3f3f3"/>',
        _text(LEFT, 24, title, 17),
        f'<path d="M{LEFT} {TOP}V{base}H{WIDTH - RIGHT}" fill="none" stroke="#666" stroke-width="1"/>',
        _text((LEFT + WIDTH - RIGHT) / 2, HEIGHT - 14, across, 13, "middle"),
        f'<g transform="translate(20 {(TOP + base) / 2}) rotate(-90)">{_text(0, 0, upward, 13, "middle")}</g>',
    ]
    for place, name in x_ticks:
        if LEFT <= place <= WIDTH - RIGHT:
            parts.append(f'<path d="M{place:.1f} {base}v5" stroke="#666"/>')
            parts.append(_text(place, base + 20, name, 12, "middle"))
    for place, name in y_ticks:
        if TOP <= place <= base:
            parts.append(f'<path d="M{LEFT} {place:.1f}h-5" stroke="#666"/>')
            parts.append(_text(LEFT - 9, place + 4, name, 12, "end"))
    return parts


def _mark(number: int, x: float, y: float) -> str:
    if number == 0:
        return f'<circle cx="{x:.1f}" cy="{y:.1f}" r="5" fill="#141414"/>'
    if number == 1:
        return f'<rect x="{x - 5:.1f}" y="{y - 5:.1f}" width="10" height="10" fill="#f3f3f3" stroke="#141414"/>'
    return f'<path d="M{x:.1f} {y - 6:.1f}l6 11h-12z" fill="#9c9c9c" stroke="#141414"/>'


def _text(x: float, y: float, words: str, size: int = 13, anchor: str = "start") -> str:
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size}" text-anchor="{anchor}">{words}</text>'


def _drawing(parts: Sequence[str]) -> str:
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" '
        'font-family="sans-serif" fill="#141414">'
    )
    return "\n".join([head, *parts, "</svg>\n"])
