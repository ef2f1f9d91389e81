"""Charts of the numbers as SVG: curves told apart by their dashes, bars by their hatching.

Black and white, text upright and nothing fetched, so that a chart prints as it looks.
"""

from collections.abc import Iterator
from html import escape
from math import floor, log10

from behaviour.numbers.results import Bar, Bars, Chart, Curve
from behaviour.report.figures import plain

WIDTH, HEIGHT = 690, 312
LEFT, RIGHT, TOP, BOTTOM = 64, 200, 52, 46
DASHES = ("", "7 4", "2 3", "10 3 2 3")
TICKS = 6
ROW = 34
FILLS = ("#ffffff", "#c8c8c8", "#808080", "#404040")
FONT = 'font-family="sans-serif" font-size="12"'


def chart_svg(chart: Chart | Bars) -> str:
    """Draw a chart."""
    return _bars(chart) if isinstance(chart, Bars) else _curves(chart)


def _svg(width: float, height: float, title: str, parts: Iterator[str]) -> str:
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:g}" height="{height:g}" '
        f'viewBox="0 0 {width:g} {height:g}" role="img" aria-label="{escape(title)}" {FONT}>'
    )
    ground = f'<rect width="{width:g}" height="{height:g}" fill="#ffffff"/>'
    name = _text(LEFT, 20, title, "start", bold=True)
    return "\n".join([head, ground, name, *parts, "</svg>\n"])


def _text(x: float, y: float, words: str, anchor: str, *, bold: bool = False) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{weight} '
        f'fill="#000000">{escape(words)}</text>'
    )


# --- Curves -------------------------------------------------------------------------------------


def _curves(chart: Chart) -> str:
    return _svg(WIDTH, HEIGHT, chart.title, _curve_parts(chart))


def _curve_parts(chart: Chart) -> Iterator[str]:
    points = [point for curve in chart.curves for point in curve.points]
    across = _ticks(max([x for x, _ in points] + [x for x, _ in chart.marks]))
    up = _ticks(max(y for _, y in points))
    for value in across:
        x = _x(value, across[-1])
        yield f'<path d="M{x:.1f} {TOP} V{HEIGHT - BOTTOM}" stroke="#dddddd"/>'
        yield _text(x, HEIGHT - BOTTOM + 16, plain(value), "middle")
    for value in up:
        y = _y(value, up[-1])
        yield f'<path d="M{LEFT} {y:.1f} H{WIDTH - RIGHT}" stroke="#dddddd"/>'
        yield _text(LEFT - 6, y + 4, plain(value), "end")
    frame = f"M{LEFT} {TOP} V{HEIGHT - BOTTOM} H{WIDTH - RIGHT}"
    yield f'<path d="{frame}" fill="none" stroke="#000000"/>'
    yield _text((LEFT + WIDTH - RIGHT) / 2, HEIGHT - 10, chart.across, "middle")
    yield _text(8, TOP - 14, chart.up, "start")
    for at, says in chart.marks:
        x = _x(at, across[-1])
        yield f'<path d="M{x:.1f} {TOP} V{HEIGHT - BOTTOM}" stroke="#000000" stroke-width="0.8"/>'
        yield _text(x, TOP - 4, says, "middle")
    for curve, dash in zip(chart.curves, DASHES, strict=False):
        yield _line(curve, dash, across[-1], up[-1])
    yield from _key(chart.curves)


def _line(curve: Curve, dash: str, widest: float, highest: float) -> str:
    spots = " ".join(f"{_x(x, widest):.1f},{_y(y, highest):.1f}" for x, y in curve.points)
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return f'<polyline points="{spots}" fill="none" stroke="#000000" stroke-width="1.8"{dashes}/>'


def _key(curves: tuple[Curve, ...]) -> Iterator[str]:
    x = WIDTH - RIGHT + 8
    for row, (curve, dash) in enumerate(zip(curves, DASHES, strict=False)):
        y = TOP + 12 + 20 * row
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        yield f'<path d="M{x} {y} h26" stroke="#000000" stroke-width="1.8"{dashes}/>'
        yield _text(x + 31, y + 4, curve.says, "start")


def _x(value: float, most: float) -> float:
    return LEFT + (WIDTH - LEFT - RIGHT) * value / most


def _y(value: float, most: float) -> float:
    return HEIGHT - BOTTOM - (HEIGHT - TOP - BOTTOM) * value / most


def _ticks(most: float) -> list[float]:
    """Give round values from 0 to just past the most."""
    if most <= 0:
        return [0.0, 1.0]
    rough = most / (TICKS - 1)
    power: float = 10.0 ** floor(log10(rough))
    step = next(power * each for each in (1, 2, 2.5, 5, 10) if power * each >= rough * 0.999999)
    found = [0.0]
    while found[-1] < most * 0.999999:
        found.append(len(found) * step)
    return found


# --- Bars ---------------------------------------------------------------------------------------


def _bars(chart: Bars) -> str:
    height = TOP + ROW * len(chart.bars) + BOTTOM
    return _svg(WIDTH, height, chart.title, _bar_parts(chart))


def _bar_parts(chart: Bars) -> Iterator[str]:
    most = max(max(bar.allowed, bar.allowed - bar.left) for bar in chart.bars) or 1.0
    room = WIDTH - 2 * LEFT
    names = list(dict.fromkeys(says for bar in chart.bars for says, _ in bar.parts))
    for row, bar in enumerate(chart.bars):
        top = TOP + ROW * row
        yield _text(LEFT, top + 8, _told(bar), "start")
        at = float(LEFT)
        for says, length in bar.parts:
            wide = room * length / most
            fill = FILLS[names.index(says) % len(FILLS)]
            yield (
                f'<rect x="{at:.1f}" y="{top + 12}" width="{wide:.1f}" height="12" '
                f'fill="{fill}" stroke="#000000"/>'
            )
            at += wide
        x = LEFT + room * bar.allowed / most
        yield f'<path d="M{x:.1f} {top + 9} v18" stroke="#000000" stroke-width="2.5"/>'
    y, x = TOP + ROW * len(chart.bars) + 18, float(LEFT)
    for number, says in enumerate(names):
        fill = FILLS[number % len(FILLS)]
        box = f'x="{x:.1f}" y="{y - 10}" width="14" height="12"'
        yield f'<rect {box} fill="{fill}" stroke="#000000"/>'
        yield _text(x + 19, y, says, "start")
        x += 90
    yield f'<path d="M{x:.1f} {y - 12} v16" stroke="#000000" stroke-width="2.5"/>'
    yield _text(x + 6, y, "allowed", "start")


def _told(bar: Bar) -> str:
    parts = " + ".join(f"{says} {plain(length)}" for says, length in bar.parts)
    left = f"{plain(bar.left)} left" if bar.left >= 0 else f"{plain(-bar.left)} too long"
    return f"{bar.says}: {parts} of {plain(bar.allowed)}, {left}"
