"""The one layout of every page of HTML: for a screen and to print, with nothing fetched from
anywhere and no script. It knows what a page looks like, and nothing of what stands on it.

Colours are black, white and greys of enough contrast (WCAG 2.2 asks 4.5 to 1 for small text).
"""

from collections.abc import Iterable
from html import escape

from behaviour.cautions import CAUTIONS
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.source import Source

STYLE = """
:root { color-scheme: light dark; --ink: #000; --paper: #fff; --shade: #eee; --faint: #555; }
@media screen and (prefers-color-scheme: dark) {
  :root { --ink: #eee; --paper: #161616; --shade: #2a2a2a; --faint: #aaa; } }
body { font: 10pt/1.35 sans-serif; margin: 1.5em; color: var(--ink); background: var(--paper); }
h1 { font-size: 15pt; margin: 0 0 .2em; } h2 { font-size: 12pt; margin: 1.6em 0 .4em; }
h3 { font-size: 10pt; margin: 1.2em 0 .2em; } h2, h3 { break-after: avoid; }
table { border-collapse: collapse; width: 100%; } thead { display: table-header-group; }
th, td { border: 1px solid var(--ink); padding: .25em .4em; text-align: left; vertical-align: top; }
th { background: var(--shade); } tr { break-inside: avoid; } td.v { white-space: nowrap; }
ul { margin: 0; padding-left: 1.1em; } pre { font-size: 8pt; white-space: pre-wrap; }
.faint { color: var(--faint); } a { color: var(--ink); }
svg, img { background: #fff; max-width: 100%; height: auto; }
figure { margin: 0 0 1em; break-inside: avoid; } table + ul, table + p { margin-top: .8em; }
@media screen and (max-width: 45em) { table { display: block; overflow-x: auto; } }
@media print { body { margin: 0; } }
"""
"""What all pages share; a page adds the few lines that it alone needs."""

LANDSCAPE = "@page { size: A4 landscape; margin: 12mm; }\n"
PORTRAIT = "@page { size: A4; margin: 14mm; }\n"


def html_page(title: str, parts: Iterable[str], style: str = PORTRAIT) -> str:
    """Lay out a whole page; `parts` are HTML already, `title` is plain text."""
    title = escape(title)
    head = (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f'<meta name="viewport" content="width=device-width">\n<title>{title}</title>\n'
        f"<style>{STYLE}{style}</style>\n</head>\n<body>\n<h1>{title}</h1>"
    )
    return "\n".join([head, *parts, "</body>\n</html>\n"])


def copy_of(source: Source, model: Model) -> str:
    """Say what the page is a copy of: the file and its fingerprint."""
    return f"<p>{escape(source.name)}, fingerprint {fingerprint(model)}</p>"


def cautions_part(model: Model, words: str) -> list[str]:
    """Give the cautions under a heading of `words`, if the prop can hurt somebody."""
    if not any(output.hazard for output in model.outputs):
        return []
    return [f"<h2>{escape(words)}</h2>", html_list(CAUTIONS)]


def html_list(lines: Iterable[str]) -> str:
    """Lay plain lines out as a list."""
    return "<ul>" + "".join(f"<li>{escape(line)}</li>" for line in lines) + "</ul>"


def html_lines(lines: Iterable[str]) -> str:
    """Keep plain lines as they are set, such as a story in its columns."""
    return f"<pre>{escape(chr(10).join(lines))}</pre>"


def html_head_row(names: Iterable[str]) -> str:
    """Begin a table whose columns have these names; `</tbody></table>` ends it."""
    cells = "".join(f'<th scope="col">{escape(name)}</th>' for name in names)
    return f"<table>\n<thead><tr>{cells}</tr></thead>\n<tbody>"
