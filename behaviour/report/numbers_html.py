"""The numbers of a prop as one page to print: no script, nothing fetched from anywhere."""

from collections.abc import Iterator, Sequence
from html import escape

from behaviour.cautions import CAUTIONS
from behaviour.model import Model
from behaviour.numbers.results import Block, Lacking, Result, Table
from behaviour.report.chart import chart_svg
from behaviour.report.figures import with_unit
from behaviour.report.numbers_text import guesses_of, put_in
from behaviour.report.page import LANDSCAPE, copy_of, html_list, html_page
from behaviour.source import Source

NUMBERS_STYLE = """
td.value { white-space: nowrap; font-weight: bold; } code { font-size: 9pt; }
tr.doubtful td.value { border-left: 6px double var(--ink); } .small { font-size: 8.5pt; }
"""


def numbers_html(source: Source, model: Model, blocks: Sequence[Block]) -> str:
    """Lay the numbers out as a page of HTML, with their charts in it."""
    parts = [copy_of(source, model), *numbers_parts(blocks)]
    parts += ["<h2>Before anything turns</h2>", html_list(CAUTIONS)]
    return html_page(f"Numbers: {model.prop}", parts, NUMBERS_STYLE + LANDSCAPE)


def numbers_parts(blocks: Sequence[Block]) -> Iterator[str]:
    """Give the numbers as parts of a page, for this page and for others."""
    guesses = guesses_of(blocks)
    if guesses:
        yield f"<p>It rests on guesses: {escape(', '.join(guesses))}.</p>"
    for block in blocks:
        yield from _block(block)


def _block(block: Block) -> Iterator[str]:
    yield f"<h2>{escape(block.name)}</h2>\n<p>{escape(block.about)}</p>"
    for chart in block.charts:
        yield f"<figure>{chart_svg(chart)}</figure>"
    yield "<table>\n<thead><tr><th>what</th><th>value</th><th>formula and source</th>"
    yield "<th>put in</th><th>what to think of it</th></tr></thead>\n<tbody>"
    yield from (_row(part) for part in block.results)
    yield "</tbody>\n</table>"
    yield from (_table(table) for table in block.tables)
    if block.remarks:
        yield html_list(block.remarks)


def _row(part: Result | Lacking) -> str:
    if isinstance(part, Lacking):
        needs = ", ".join(part.figures)
        return f'<tr><td>{escape(part.says)}</td><td colspan="4">needs {escape(needs)}</td></tr>'
    thoughts = [part.advice] if part.advice else []
    thoughts += [f"rests on a guess: {', '.join(part.guesses)}"] if part.guesses else []
    cells = (
        f"<td>{escape(part.says)}</td>"
        f'<td class="value">{escape(with_unit(part.value, part.unit))}</td>'
        f"<td><code>{escape(part.formula)}</code><br>"
        f'<span class="small">{escape(part.source)}</span></td>'
        f'<td class="small">{"<br>".join(escape(put_in(each)) for each in part.given)}</td>'
        f"<td>{'<br>'.join(escape(words) for words in thoughts)}</td>"
    )
    return f'<tr class="{part.weight}">{cells}</tr>'


def _table(table: Table) -> str:
    head = "".join(f"<th>{escape(cell)}</th>" for cell in table.head)
    rows = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in table.rows
    )
    source = f'<p class="small">{escape(table.source)}</p>' if table.source else ""
    return (
        f"<p>{escape(table.title)}</p>\n<table><thead><tr>{head}</tr></thead>"
        f"<tbody>{rows}</tbody></table>{source}"
    )
