"""The failure worksheet as one page to print: no script, nothing fetched from anywhere."""

from collections.abc import Iterator
from html import escape

from behaviour.cautions import CAUTIONS
from behaviour.check.faulting import Worksheet
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.report.worksheet import COLUMNS, counted, row_words, stories
from behaviour.report.worksheet_text import MEANS
from behaviour.source import Source
from behaviour.telling import tell

STYLE = """
body { font: 10pt/1.35 sans-serif; margin: 1.5em; color: #000; background: #fff; }
h1 { font-size: 15pt; margin: 0 0 .2em; } h2 { font-size: 12pt; margin: 1.6em 0 .4em; }
h3 { font-size: 10pt; margin: 1.2em 0 .2em; }
table { border-collapse: collapse; width: 100%; } thead { display: table-header-group; }
th, td { border: 1px solid #000; padding: .25em .4em; text-align: left; vertical-align: top; }
th { background: #eee; } tr { break-inside: avoid; } td.v { white-space: nowrap; }
tr.broken td.v, tr.not-decided td.v { font-weight: bold; border-left: 6px double #000; }
tr.beyond-software td.v { font-weight: bold; border-left: 6px solid #000; }
ul { margin: 0; padding-left: 1.1em; } pre { font-size: 8pt; white-space: pre-wrap; }
@page { size: A4 landscape; margin: 12mm; }
"""


def worksheet_html(source: Source, model: Model, sheet: Worksheet) -> str:
    """Lay a worksheet out as a page of HTML."""
    title = escape(f"Failure worksheet: {model.prop}")
    head = (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<title>{title}</title>'
        f"\n<style>{STYLE}</style>\n</head>\n<body>\n<h1>{title}</h1>"
    )
    parts = [head, f"<p>{escape(source.name)}, fingerprint {fingerprint(model)}</p>"]
    parts += [*_means(sheet), *_table(model, sheet), *_stories(model, sheet)]
    if any(output.hazard for output in model.outputs):
        parts.append("<h2>This prop can hurt somebody, and no worksheet makes it safe</h2>")
        parts.append(_list(CAUTIONS))
    return "\n".join([*parts, "</body>\n</html>\n"])


def _means(sheet: Worksheet) -> Iterator[str]:
    lines = [
        f"<b>{count} {cell.value}</b>: {escape(MEANS[cell])}"
        for cell, count in counted(sheet).items()
        if count
    ]
    yield "<ul>" + "".join(f"<li>{line}</li>" for line in lines) + "</ul>"


def _table(model: Model, sheet: Worksheet) -> Iterator[str]:
    yield "<h2>What one thing going wrong does</h2>\n<table>\n<thead><tr>"
    yield "".join(f"<th>{name}</th>" for name in COLUMNS) + "</tr></thead>\n<tbody>"
    for row in sheet.rows:
        words = row_words(model, row)
        kind = words.verdict.replace(" ", "-")
        cells = "".join(f"<td>{escape(cell)}</td>" for cell in words.cells[:3])
        cells += f'<td class="v">{escape(words.verdict)}</td>'
        cells += "".join(
            f"<td>{_list(each)}</td>" for each in (words.breaks, words.notices, words.does)
        )
        yield f'<tr class="{kind}">{cells}</tr>'
    yield "</tbody>\n</table>"


def _stories(model: Model, sheet: Worksheet) -> Iterator[str]:
    told = list(stories(sheet))
    if told:
        yield "<h2>How it comes about</h2>"
    for row, effect in told:
        words = row_words(model, row)
        yield f"<h3>{escape(f'{words.item} {words.mode}: {effect.name}')}</h3>"
        run = None if effect.finding is None else effect.finding.run
        if run is None:
            yield "<p>The same story as above.</p>"
        else:
            lines = tell(model, run)
            yield f"<pre>{escape(chr(10).join(lines))}</pre>"


def _list(lines: tuple[str, ...]) -> str:
    return "<ul>" + "".join(f"<li>{escape(line)}</li>" for line in lines) + "</ul>"
