"""`tell`: the behaviour as plain sentences, to read aloud and sign."""

from __future__ import annotations

from pathlib import PurePath

from behaviour.commands.answering import OK, UNREADABLE, put_out, readable_file
from behaviour.commands.arguments import Arguments, Parser
from behaviour.disk import write_whole


def run(arguments: Arguments) -> int:
    """Run it with its arguments and give its exit code."""
    parser = Parser("tablework tell", description="Tell the behaviour in plain sentences.")
    parser.add_argument("spec", metavar="SPEC", help="a behaviour file")
    parser.add_argument("--as", dest="form", choices=("markdown", "html"))
    parser.add_argument("--out", metavar="FILE", help="write it there; else it is printed")
    asked = parser.parse_args(arguments)
    return tell(asked.spec, asked.form or sheet_format(asked.out), asked.out)


def sheet_format(out: str | None) -> str:
    """Tell from the name of a file which kind of text is meant; Markdown where it does not say."""
    return {".html": "html", ".htm": "html"}.get(PurePath(out or "").suffix.lower(), "markdown")


def tell(name: str, form: str, out: str | None) -> int:
    """Tell a file in sentences, and print them or write them to `out`."""
    from behaviour.report.sentences_html import sentences_html
    from behaviour.report.sentences_markdown import sentences_markdown
    from behaviour.tell.sentences import sheet_of

    readable = readable_file(name)
    if readable is None:
        return UNREADABLE
    laid_out = sentences_html if form == "html" else sentences_markdown
    text = laid_out(readable.source, readable.model, sheet_of(readable.model))
    if out is None:
        put_out(text)
    else:
        write_whole(out, text.encode())
        put_out(f"written: {out}\n")
    return OK
