"""Pictures measured in a real browser: where each text, box and line of an SVG stands."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from playwright.sync_api import Page, sync_playwright

MEASURE = """() => {
  const place = e => { const r = e.getBoundingClientRect();
    return [r.left, r.top, r.right, r.bottom]; };
  const along = e => { const long = e.getTotalLength(), found = [];
    const to = e.getScreenCTM();
    for (let at = 0; at <= long; at += 1.5) {
      const p = e.getPointAtLength(at).matrixTransform(to); found.push([p.x, p.y]); }
    return found; };
  const svg = document.querySelector('svg');
  const all = sel => [...svg.querySelectorAll(sel)];
  return {
    sheet: place(svg),
    texts: all('text').map(e => [e.textContent, place(e), getComputedStyle(e).fill,
                                 parseFloat(getComputedStyle(e).fontSize)]),
    boxes: all('rect').map(e => [place(e), e.parentNode.dataset.name || '',
                                 getComputedStyle(e).fill]).slice(1),
    lines: all('polyline, path, line').filter(e => getComputedStyle(e).stroke !== 'none')
      .map(e => [e.parentNode.dataset.name || '', along(e)]),
    paper: getComputedStyle(all('rect')[0]).fill,
  };
}"""


@dataclass(frozen=True)
class Place:
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Place", by: float = 0.5) -> bool:
        """Tell whether two places overlap by more than so many dots each way."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across > by and down > by

    def holds(self, other: "Place", slack: float = 0.6) -> bool:
        return (
            self.left - slack <= other.left
            and self.top - slack <= other.top
            and other.right <= self.right + slack
            and other.bottom <= self.bottom + slack
        )

    def has(self, x: float, y: float, margin: float = 0.0) -> bool:
        across = self.left + margin < x < self.right - margin
        return across and self.top + margin < y < self.bottom - margin


@dataclass(frozen=True)
class Measured:
    sheet: Place
    texts: list[tuple[str, Place, str, float]]
    boxes: list[tuple[Place, str, str]]
    lines: list[tuple[str, list[tuple[float, float]]]]
    paper: str


class Browser:
    def __init__(self, page: Page) -> None:
        self.page = page
        self.asked: list[str] = []
        page.on("request", lambda request: self.asked.append(request.url))

    def measured(self, svg: bytes, scheme: str = "light") -> Measured:
        """Show an SVG alone on a page and measure it."""
        self.page.emulate_media(color_scheme=scheme)
        body = svg.decode().split("?>", 1)[-1]
        self.page.set_content(f"<body style='margin:0'>{body}</body>")
        found = self.page.evaluate(MEASURE)
        return Measured(
            sheet=Place(*found["sheet"]),
            texts=[(text, Place(*at), fill, size) for text, at, fill, size in found["texts"]],
            boxes=[(Place(*at), name, fill) for at, name, fill in found["boxes"]],
            lines=[(name, [tuple(point) for point in points]) for name, points in found["lines"]],
            paper=found["paper"],
        )


@contextmanager
def a_browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(
            executable_path="/usr/bin/chromium", args=["--no-sandbox"]
        )
        yield Browser(chromium.new_page(viewport={"width": 1600, "height": 1200}))
        chromium.close()


def overlapping_texts(measured: Measured) -> list[tuple[str, str]]:
    texts = [(text, place) for text, place, _, _ in measured.texts if text.strip()]
    return [
        (one, other)
        for at, (one, place) in enumerate(texts)
        for other, there in texts[at + 1 :]
        if place.meets(there, by=1.5)
    ]


def contrast(one: str, other: str) -> float:
    """Give the contrast of two colours as WCAG 2.1 defines it (relative luminance, 1.4.3)."""

    def luminance(colour: str) -> float:
        numbers = [int(part) / 255 for part in colour.removeprefix("rgb(")[:-1].split(",")]
        red, green, blue = (
            part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in numbers
        )
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)
