"""The numbers of a prop for other programs: JSON with the same facts as the text."""

from collections.abc import Sequence
from math import isfinite

from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.numbers.results import Bars, Block, Chart, Lacking, Result, Table
from behaviour.source import Source

FORMAT = 1

JsonObject = dict[str, object]


def numbers_object(source: Source, model: Model, blocks: Sequence[Block]) -> JsonObject:
    """Give the numbers as one plain object; it changes only with `FORMAT`."""
    return {
        "format": FORMAT,
        "file": source.name,
        "prop": model.prop,
        "fingerprint": fingerprint(model),
        "blocks": [_block(block) for block in blocks],
    }


def _block(block: Block) -> JsonObject:
    return {
        "name": block.name,
        "about": block.about,
        "results": [_part(part) for part in block.results],
        "tables": [_table(table) for table in block.tables],
        "charts": [_chart(chart) for chart in block.charts],
        "remarks": list(block.remarks),
    }


def _part(part: Result | Lacking) -> JsonObject:
    if isinstance(part, Lacking):
        return {"says": part.says, "needs": list(part.figures)}
    told: JsonObject = {
        "says": part.says,
        "value": part.value if isfinite(part.value) else None,
        "unit": part.unit,
        "formula": part.formula,
        "given": [
            {
                "symbol": given.symbol,
                "value": given.value,
                "unit": given.unit,
                "says": given.says,
                "known": given.known,
            }
            for given in part.given
        ],
        "source": part.source,
        "doubtful": part.weight == "doubtful",
        "guesses": list(part.guesses),
    }
    if part.advice:
        told["advice"] = part.advice
    return told


def _table(table: Table) -> JsonObject:
    return {
        "title": table.title,
        "head": list(table.head),
        "rows": [list(row) for row in table.rows],
        "source": table.source,
    }


def _chart(chart: Chart | Bars) -> JsonObject:
    if isinstance(chart, Bars):
        bars = [
            {"says": bar.says, "parts": dict(bar.parts), "allowed": bar.allowed, "left": bar.left}
            for bar in chart.bars
        ]
        return {"name": chart.name, "title": chart.title, "bars": bars}
    return {
        "name": chart.name,
        "title": chart.title,
        "across": chart.across,
        "up": chart.up,
        "curves": [
            {"says": curve.says, "points": [list(point) for point in curve.points]}
            for curve in chart.curves
        ],
        "marks": [{"at": at, "says": says} for at, says in chart.marks],
    }
