"""The failure worksheet as one page to print: no script, nothing fetched from anywhere."""

from collections.abc import Iterator
from html import escape

from behaviour.check.faulting import Worksheet
from behaviour.model import Model
from behaviour.report.page import (
    LANDSCAPE,
    cautions_part,
    copy_of,
    html_head_row,
    html_lines,
    html_list,
    html_page,
)
from behaviour.report.sentences_html import words_html
from behaviour.report.worksheet import COLUMNS, counted, row_words, stories
from behaviour.report.worksheet_text import MEANS
from behaviour.source import Source
from behaviour.telling import tell

WORKSHEET_STYLE = """
tr.broken td.v, tr.not-decided td.v { font-weight: bold; border-left: 6px double var(--ink); }
tr.beyond-software td.v { font-weight: bold; border-left: 6px solid var(--ink); }
code { font-family: inherit; font-weight: 600; }
"""


def worksheet_html(source: Source, model: Model, sheet: Worksheet) -> str:
    """Lay a worksheet out as a page of HTML."""
    parts = [copy_of(source, model), *worksheet_parts(model, sheet)]
    parts += cautions_part(model, "This prop can hurt somebody, and no worksheet makes it safe")
    return html_page(f"Failure worksheet: {model.prop}", parts, WORKSHEET_STYLE + LANDSCAPE)


def worksheet_parts(model: Model, sheet: Worksheet) -> Iterator[str]:
    """Give what a page says of a worksheet, for this page and for others."""
    yield from _means(sheet)
    yield from _table(model, sheet)
    yield from _stories(model, sheet)


def _means(sheet: Worksheet) -> Iterator[str]:
    lines = [
        f"<b>{count} {cell.value}</b>: {escape(MEANS[cell])}"
        for cell, count in counted(sheet).items()
        if count
    ]
    yield "<ul>" + "".join(f"<li>{line}</li>" for line in lines) + "</ul>"


def _table(model: Model, sheet: Worksheet) -> Iterator[str]:
    yield "<h2>What one thing going wrong does</h2>"
    yield html_head_row(COLUMNS)
    for row in sheet.rows:
        words = row_words(model, row)
        kind = words.verdict.replace(" ", "-")
        cells = "".join(f"<td>{words_html(cell)}</td>" for cell in words.cells[:3])
        cells += f'<td class="v">{escape(words.verdict)}</td>'
        cells += "".join(
            f"<td>{html_list(each)}</td>" for each in (words.breaks, words.notices, words.does)
        )
        yield f'<tr class="{kind}">{cells}</tr>'
    yield "</tbody>\n</table>"


def _stories(model: Model, sheet: Worksheet) -> Iterator[str]:
    told = list(stories(sheet))
    if told:
        yield "<h2>How it comes about</h2>"
    for row, effect in told:
        words = row_words(model, row)
        yield f"<h3>{words_html(f'{words.item} {words.mode}: {effect.name}')}</h3>"
        run = None if effect.finding is None else effect.finding.run
        yield "<p>The same story as above.</p>" if run is None else html_lines(tell(model, run))
