"""The numbers of a prop as one page to print: no script, nothing fetched from anywhere."""

from collections.abc import Iterator, Sequence
from html import escape

from behaviour.cautions import CAUTIONS
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.numbers.results import Block, Lacking, Result, Table
from behaviour.report.chart import chart_svg
from behaviour.report.figures import with_unit
from behaviour.report.numbers_text import guesses_of, put_in
from behaviour.source import Source

STYLE = """
body { font: 10pt/1.35 sans-serif; margin: 1.5em; color: #000; background: #fff; }
h1 { font-size: 15pt; margin: 0 0 .2em; } h2 { font-size: 12pt; margin: 1.6em 0 .4em; }
table { border-collapse: collapse; width: 100%; margin: .4em 0; }
thead { display: table-header-group; } tr, figure { break-inside: avoid; }
th, td { border: 1px solid #000; padding: .25em .4em; text-align: left; vertical-align: top; }
th { background: #eee; } td.v { white-space: nowrap; font-weight: bold; }
tr.doubtful td.v { border-left: 6px double #000; } code { font-size: 9pt; }
ul { margin: 0; padding-left: 1.1em; } .small { font-size: 8.5pt; }
figure { margin: .6em 0; } svg { max-width: 100%; height: auto; }
@page { size: A4 landscape; margin: 12mm; }
"""


def numbers_html(source: Source, model: Model, blocks: Sequence[Block]) -> str:
    """Lay the numbers out as a page of HTML, with their charts in it."""
    title = escape(f"Numbers: {model.prop}")
    head = (
        f'<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n<title>{title}</title>'
        f"\n<style>{STYLE}</style>\n</head>\n<body>\n<h1>{title}</h1>"
    )
    parts = [
        head,
        f"<p>{escape(source.name)}, fingerprint {fingerprint(model)}</p>",
    ]
    guesses = guesses_of(blocks)
    if guesses:
        parts.append(f"<p>It rests on guesses: {escape(', '.join(guesses))}.</p>")
    for block in blocks:
        parts += _block(block)
    parts += ["<h2>Before anything turns</h2>", _list(CAUTIONS), "</body>\n</html>\n"]
    return "\n".join(parts)


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
        yield _list(block.remarks)


def _row(part: Result | Lacking) -> str:
    if isinstance(part, Lacking):
        needs = ", ".join(part.figures)
        return f'<tr><td>{escape(part.says)}</td><td colspan="4">needs {escape(needs)}</td></tr>'
    thoughts = [part.advice] if part.advice else []
    thoughts += [f"rests on a guess: {', '.join(part.guesses)}"] if part.guesses else []
    cells = (
        f"<td>{escape(part.says)}</td>"
        f'<td class="v">{escape(with_unit(part.value, part.unit))}</td>'
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


def _list(lines: Sequence[str]) -> str:
    return "<ul>" + "".join(f"<li>{escape(line)}</li>" for line in lines) + "</ul>"
