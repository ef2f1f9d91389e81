"""The state diagram as a picture: its frames laid out each by itself and put on sheets."""

from collections.abc import Iterable
from dataclasses import dataclass

from behaviour.draw import look
from behaviour.draw.crossing import crossing_arrows
from behaviour.draw.flags import ArrowKey
from behaviour.draw.frame import frame_shapes
from behaviour.draw.laid_out import LaidOut, laid_out
from behaviour.draw.render import lay_out
from behaviour.draw.shapes import Picture, moved
from behaviour.draw.sheet import Frame, Heading, fits, one_sheet, pages
from behaviour.draw.state_diagram import frame_texts, legend_of
from behaviour.findings import Finding
from behaviour.fingerprint import fingerprint
from behaviour.model import Model


@dataclass(frozen=True, slots=True)
class Laid:
    """All frames of a diagram, and what stands around them."""

    heading: Heading
    frames: tuple[Frame, ...]


@dataclass(frozen=True, slots=True)
class Diagram:
    """A state diagram laid out with room, and tightly, and what Graphviz complained of."""

    roomy: Laid
    tight: Laid
    complaints: tuple[str, ...]

    def sheet(self) -> Picture:
        """Put it on one sheet, tightly where it would not fit on a page otherwise."""
        roomy = one_sheet(self.roomy.heading, self.roomy.frames)
        return roomy if fits(roomy) else one_sheet(self.tight.heading, self.tight.frames)

    def pages(self, paper: str | None = None) -> tuple[Picture, ...]:
        """Put it on as few pages as it takes."""
        roomy = pages(self.roomy.heading, self.roomy.frames, paper)
        if len(roomy) == 1:
            return roomy
        return min(roomy, pages(self.tight.heading, self.tight.frames, paper), key=len)


def diagram(model: Model, findings: Iterable[Finding] = ()) -> Diagram:
    """Lay the diagram out. Raises CannotDrawError where that is not possible here."""
    shown = tuple(findings)
    roomy, complaints = _laid(model, shown, look.SHEET)
    tight, _ = _laid(model, shown, look.TIGHT)
    return Diagram(roomy, tight, complaints)


def _laid(
    model: Model, findings: tuple[Finding, ...], sheet: look.Look
) -> tuple[Laid, tuple[str, ...]]:
    """Lay all frames out, and again with an arrow less as long as one crosses another."""
    crossing: frozenset[ArrowKey] = frozenset()
    while True:
        graphs, complaints = lay_out(frame_texts(model, findings, sheet, crossing))
        frames = tuple(map(laid_out, graphs))
        more = frozenset(key for each in frames for key in crossing_arrows(each))
        more = frozenset(key for key in more if key[0] not in model.mechanisms) - crossing
        if not more:
            break
        crossing |= more
    heading = Heading(
        title=model.prop,
        about=model.about,
        mark=f"fingerprint {fingerprint(model)}",
        legend=legend_of(model, findings, crossing),
    )
    return Laid(heading, tuple(map(_frame, frames))), complaints


def _frame(laid: LaidOut) -> Frame:
    around = max(laid.frames, key=lambda area: area.width * area.height)
    shapes = (moved(each, -around.left, -around.top) for each in frame_shapes(laid))
    return Frame(around.width, around.height, tuple(shapes))
