"""The state diagram as a picture: its frames laid out each by itself and put on sheets."""

from collections.abc import Iterable
from dataclasses import dataclass

from behaviour.draw.frame import frame_shapes
from behaviour.draw.laid_out import laid_out
from behaviour.draw.render import lay_out
from behaviour.draw.shapes import Picture, moved
from behaviour.draw.sheet import Frame, Heading, one_sheet, pages
from behaviour.draw.state_diagram import frame_texts, legend_of
from behaviour.findings import Finding
from behaviour.fingerprint import fingerprint
from behaviour.model import Model


@dataclass(frozen=True, slots=True)
class Diagram:
    """A state diagram laid out, and what Graphviz complained of."""

    heading: Heading
    frames: tuple[Frame, ...]
    complaints: tuple[str, ...]

    def sheet(self) -> Picture:
        return one_sheet(self.heading, self.frames)

    def pages(self, paper: str | None = None) -> tuple[Picture, ...]:
        return pages(self.heading, self.frames, paper)


def diagram(model: Model, findings: Iterable[Finding] = ()) -> Diagram:
    """Lay the diagram out. Raises CannotDrawError where that is not possible here."""
    shown = tuple(findings)
    graphs, complaints = lay_out(frame_texts(model, shown))
    frames = []
    for graph in graphs:
        laid = laid_out(graph)
        around = max(laid.frames, key=lambda area: area.width * area.height)
        shapes = (moved(each, -around.left, -around.top) for each in frame_shapes(laid))
        frames.append(Frame(around.width, around.height, tuple(shapes)))
    heading = Heading(
        title=model.prop,
        about=model.about,
        mark=f"fingerprint {fingerprint(model)}",
        legend=legend_of(model, shown),
    )
    return Diagram(heading, tuple(frames), complaints)
