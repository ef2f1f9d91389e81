"""`draw`: the states as a picture."""

from __future__ import annotations

import sys
from pathlib import PurePath
from typing import TYPE_CHECKING

from behaviour.commands.answering import (
    OK,
    UNREADABLE,
    CommandError,
    complain,
    put_out,
    readable_file,
)
from behaviour.commands.arguments import Arguments, Parser, add_limit
from behaviour.disk import write_whole

if TYPE_CHECKING:
    from behaviour.draw.render import PictureFormat


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework draw", description="Draw the states, with findings laid on them.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--as", dest="form", choices=("svg", "png", "dot"))
    parser.add_argument("--out", metavar="FILE", help="write it there; else it is printed")
    parser.add_argument("--unchecked", action="store_true", help="do not look for findings first")
    add_limit(parser)
    asked = parser.parse_args(arguments)
    form = asked.form or picture_format(asked.out)
    return draw(asked.spec, form, asked.out, None if asked.unchecked else asked.limit)


def picture_format(out: str | None) -> PictureFormat:
    """Tell from the name of a file which kind of picture is meant; SVG where it does not say."""
    match PurePath(out or "").suffix.lower():
        case ".png":
            return "png"
        case ".dot" | ".gv":
            return "dot"
        case ".svg" | "":
            return "svg"
        case other:
            raise CommandError(f"`{other}` is no kind of picture here: use .svg, .png or .dot")


def draw(name: str, form: PictureFormat, out: str | None, seconds: float | None) -> int:
    """Draw the states of a file, with its findings laid on them unless `seconds` is None."""
    from behaviour.draw.render import CannotDrawError, render
    from behaviour.draw.state_diagram import dot_text
    from behaviour.findings import Finding, Severity

    if form == "png" and out is None and sys.stdout.isatty():
        raise CommandError("a PNG is not for a terminal: say where it goes with `--out FILE.png`")
    readable = readable_file(name)
    if readable is None:
        return UNREADABLE
    findings: tuple[Finding, ...] = ()
    if seconds is not None:
        from behaviour.pipeline import check

        told = check(readable, seconds).outcome.findings
        findings = tuple(finding for finding in told if finding.severity is not Severity.NOTE)
    try:
        picture = render(dot_text(readable.model, findings), form)
    except CannotDrawError as problem:
        raise CommandError(str(problem)) from problem
    for complaint in picture.complaints:
        complain(f"`dot` says: {complaint}")
    if out is None:
        sys.stdout.flush()
        sys.stdout.buffer.write(picture.data)
    else:
        write_whole(out, picture.data)
        put_out(f"drawn: {out}\n")
    return OK
