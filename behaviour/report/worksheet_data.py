"""The failure worksheet for other programs: JSON with the same facts as the text, and CSV."""

import csv
import io

from behaviour.check.faulting import Effect, Row, Worksheet
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.report.worksheet import COLUMNS, row_words
from behaviour.source import Source
from behaviour.story import as_json
from behaviour.telling import says_by_loop

FORMAT = 1

JsonObject = dict[str, object]


def worksheet_object(source: Source, model: Model, sheet: Worksheet) -> JsonObject:
    """Give a worksheet as one plain object; it changes only with `FORMAT`."""
    return {
        "format": FORMAT,
        "file": source.name,
        "prop": model.prop,
        "fingerprint": fingerprint(model),
        "verdict": sheet.cell.value,
        "healthy": [{"name": each.name, "verdict": each.answer.value} for each in sheet.healthy],
        "rows": [_row(model, row) for row in sheet.rows],
    }


def worksheet_csv(model: Model, sheet: Worksheet) -> str:
    """Give a worksheet as lines of comma-separated values (RFC 4180), a head line first."""
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    writer.writerows(row_words(model, row).cells for row in sheet.rows)
    return text.getvalue()


def _row(model: Model, row: Row) -> JsonObject:
    words = row_words(model, row)
    return {
        "item": words.item,
        "mode": words.mode,
        "effect": words.effect,
        "verdict": words.verdict,
        "notices": list(words.notices),
        "does": list(words.does),
        "cells": [_cell(model, effect) for effect in row.effects],
    }


def _cell(world: Model, effect: Effect) -> JsonObject:
    told: JsonObject = {"name": effect.name, "verdict": effect.cell.value, "anyway": effect.anyway}
    if effect.why:
        told["why"] = effect.why
    if effect.finding is not None and effect.finding.run is not None:
        run = effect.finding.run
        told["story"] = as_json(world, run, says_by_loop(world, run))
    return told
