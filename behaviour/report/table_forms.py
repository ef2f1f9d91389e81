"""The tables of states by happenings, as Markdown, as CSV and as one page to print."""

import csv
from collections.abc import Iterator, Sequence
from html import escape
from io import StringIO

from behaviour.model import Model
from behaviour.report import markdown
from behaviour.report.page import LANDSCAPE, copy_of, html_head_row, html_page
from behaviour.source import Source
from behaviour.tell.table import Cell, Filling, Row, Table, happening_words, tables

TABLE_STYLE = """
td.blank { background-image: repeating-linear-gradient(135deg, transparent 0 5px,
  color-mix(in srgb, currentcolor 22%, transparent) 5px 6px); font-weight: bold; }
table { font-size: 8.5pt; } td p { margin: 0 0 .25em; }
"""
FIRST = ("state", "drives")
LAST = "by itself"
NOT_LOOKED_AT = "not looked at"
KEY = (
    "Each row is a state, each column something that can happen to it. Where a cell has several "
    "lines, the first that holds is followed. `blank`: the file says nothing of it."
)


def table_title(model: Model) -> str:
    return f"Table of states: {model.prop}"


def table_markdown(source: Source, model: Model) -> str:
    """Write the tables as Markdown."""
    parts = [f"# {markdown.plain(table_title(model))}\n\n{markdown.copy_of(source, model)}\n"]
    parts.append(f"\n{KEY}\n")
    for table in tables(model):
        head = [*FIRST, *map(happening_words, table.columns), LAST]
        rows = [[_in_markdown(each) for each in _cells(row)] for row in table.rows]
        parts.append(f"\n## `{table.region}`\n\n{markdown.table(head, rows)}")
        if table.never:
            parts.append(f"\n{markdown.plain(never_words(table))}\n")
    return "".join(parts)


def table_html(source: Source, model: Model) -> str:
    """Lay the tables out as a page of HTML."""
    parts = [copy_of(source, model), f"<p>{KEY.replace('`', '')}</p>", *table_parts(tables(model))]
    return html_page(table_title(model), parts, TABLE_STYLE + LANDSCAPE)


def table_parts(found: Sequence[Table]) -> Iterator[str]:
    """Give the tables as parts of a page, for this page and for others."""
    for table in found:
        yield f"<h2>{escape(table.region)}</h2>"
        yield html_head_row([*FIRST, *map(happening_words, table.columns), LAST])
        for row in table.rows:
            state, *cells = _cells(row)
            inside = "".join(_in_html(each) for each in cells)
            yield f'<tr><th scope="row">{escape(state.words[0])}</th>{inside}</tr>'
        yield "</tbody>\n</table>"
        if table.never:
            yield f"<p>{escape(never_words(table).replace('`', ''))}</p>"


def table_csv(source: Source, model: Model) -> str:
    """Write all regions as one table of comma-separated values."""
    found = tables(model)
    columns = list(dict.fromkeys(each for table in found for each in table.columns))
    columns.sort(key=lambda each: model.input_index[each.input])
    text = StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(["region", *FIRST, *map(happening_words, columns), LAST])
    for table in found:
        for row in table.rows:
            cells = dict(zip(table.columns, row.cells, strict=True))
            state, drives, *_ = _cells(row)
            middle = [_in_csv(cells[each]) if each in cells else NOT_LOOKED_AT for each in columns]
            line = [table.region, *map(_in_csv, (state, drives)), *middle, _in_csv(row.by_itself)]
            writer.writerow(line)
    writer.writerow([markdown.copy_of(source, model)])
    return text.getvalue()


def never_words(table: Table) -> str:
    """Say which changes no state of a region answers."""
    return f"Nothing in `{table.region}` answers: {', '.join(map(happening_words, table.never))}."


def _cells(row: Row) -> list[Cell]:
    state = Cell(Filling.ANSWERED, (row.state,))
    drives = Cell(Filling.ANSWERED, row.drives or ("nothing",))
    return [state, drives, *row.cells, row.by_itself]


def _in_markdown(cell: Cell) -> str:
    words = "<br>".join(map(markdown.plain, cell.words))
    return f"**{words}**" if cell.filling is Filling.BLANK else words


def _in_html(cell: Cell) -> str:
    kind = ' class="blank"' if cell.filling is Filling.BLANK else ""
    lines = "".join(f"<p>{escape(line)}</p>" for line in cell.words)
    return f"<td{kind}>{lines}</td>"


def _in_csv(cell: Cell) -> str:
    return "; ".join(cell.words)


WRITERS = {"markdown": table_markdown, "html": table_html, "csv": table_csv}
