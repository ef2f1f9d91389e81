"""The state diagram as a picture: its frames laid out each by itself and put on sheets."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from behaviour.draw import look
from behaviour.draw.frame import frame_shapes
from behaviour.draw.laid_out import laid_out
from behaviour.draw.render import lay_out
from behaviour.draw.shapes import Picture, moved
from behaviour.draw.sheet import Frame, Heading, fits, one_sheet, pages
from behaviour.draw.state_diagram import frame_texts, legend_of
from behaviour.findings import Finding
from behaviour.fingerprint import fingerprint
from behaviour.model import Model


@dataclass(frozen=True, slots=True)
class Diagram:
    """A state diagram laid out with room, and tightly, and what Graphviz complained of."""

    heading: Heading
    roomy: tuple[Frame, ...]
    tight: tuple[Frame, ...]
    complaints: tuple[str, ...]

    def sheet(self) -> Picture:
        """Put it on one sheet, tightly where it would not fit on a page otherwise."""
        roomy = one_sheet(self.heading, self.roomy)
        return roomy if fits(roomy) else one_sheet(self.heading, self.tight)

    def pages(self, paper: str | None = None) -> tuple[Picture, ...]:
        """Put it on as few pages as it takes."""
        roomy = pages(self.heading, self.roomy, paper)
        if len(roomy) == 1:
            return roomy
        return min(roomy, pages(self.heading, self.tight, paper), key=len)


def diagram(model: Model, findings: Iterable[Finding] = ()) -> Diagram:
    """Lay the diagram out. Raises CannotDrawError where that is not possible here."""
    shown = tuple(findings)
    roomy = frame_texts(model, shown)
    graphs, complaints = lay_out((*roomy, *frame_texts(model, shown, look.TIGHT)))
    frames = tuple(map(_frame, graphs))
    heading = Heading(
        title=model.prop,
        about=model.about,
        mark=f"fingerprint {fingerprint(model)}",
        legend=legend_of(model, shown),
    )
    return Diagram(heading, frames[: len(roomy)], frames[len(roomy) :], complaints)


def _frame(graph: Mapping[str, object]) -> Frame:
    laid = laid_out(graph)
    around = max(laid.frames, key=lambda area: area.width * area.height)
    shapes = (moved(each, -around.left, -around.top) for each in frame_shapes(laid))
    return Frame(around.width, around.height, tuple(shapes))
