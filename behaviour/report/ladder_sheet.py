"""The ladder of a drive as a sheet: text to print, CSV to fill in and to read back."""

import csv
import io
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from textwrap import wrap

from behaviour.cautions import CAUTIONS
from behaviour.fingerprint import fingerprint
from behaviour.model import Drive, Model
from behaviour.numbers.ladder import (
    LOOK_FOR,
    Climbed,
    Limit,
    Outcome,
    Rung,
    lines_for_the_file,
    rounded,
)
from behaviour.numbers.measures import measured
from behaviour.report.bench_sheet import SIGNED

WIDTH = 100
HEAD = ("rung", "tries", "speed in rpm", "ramp in rpm/s", "result", "remark")
OUTCOMES = tuple(outcome.value for outcome in Outcome)
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


@dataclass(frozen=True, slots=True)
class Filled:
    """A sheet that came back: for which drive and file, of which day, and what was seen."""

    drive: str
    fingerprint: str
    day: str
    climbed: tuple[Climbed, ...]


class SheetError(Exception):
    """A sheet cannot be read; the message is one line with the place and what is right there."""


def ladder_text(name: str, model: Model, drive: Drive, rungs: Sequence[Rung]) -> str:
    """Lay a ladder out to be printed and filled in by hand."""
    lines = [f"{model.prop}: the ladder of {drive.output}", ""]
    lines += _told(LOOK_FOR)
    lines += ["", SIGNED, ""]
    lines.append("rung  tries      speed          ramp  result      remark")
    for rung in rungs:
        speed, ramp = f"{rung.speed:g} rpm", f"{rung.ramp:g} rpm/s"
        blank = "_" * 10
        lines.append(
            f"{rung.number:>4}  {rung.tries:<5}  {speed:>9}  {ramp:>12}  {blank}  {'_' * 30}"
        )
    lines += ["", f"{name}, fingerprint {fingerprint(model)}", "", "Before anything turns:"]
    return "\n".join([*lines, *_told(CAUTIONS), ""])


def ladder_csv(model: Model, drive: Drive, rungs: Sequence[Rung]) -> str:
    """Give a ladder as lines of comma-separated values with the results left empty."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(("drive", drive.output))
    writer.writerow(("fingerprint", fingerprint(model)))
    writer.writerow(("day", ""))
    writer.writerow(HEAD)
    for rung in rungs:
        writer.writerow((rung.number, rung.tries, f"{rung.speed:g}", f"{rung.ramp:g}", "", ""))
    return text.getvalue()


# --- Read back ----------------------------------------------------------------------------------


def read_ladder(text: str) -> Filled:
    """Read a sheet that was filled in. Raises SheetError at the first thing that is not right."""
    rows = [[cell.strip() for cell in row] for row in csv.reader(io.StringIO(text))]
    told = dict[str, str]()
    climbed: list[Climbed] = []
    below_head = False
    for line, row in enumerate(rows, 1):
        if not any(row):
            continue
        if not below_head and row[0] in ("drive", "fingerprint", "day"):
            told[row[0]] = row[1] if len(row) > 1 else ""
        elif not below_head and tuple(row[: len(HEAD)]) == HEAD:
            below_head = True
        elif below_head:
            climbed.append(_climbed(line, row))
        else:
            raise SheetError(f"line {line}: here stands `{','.join(HEAD)}`")
    day = told.get("day", "")
    if day and not _DAY.fullmatch(day):
        raise SheetError(f"`{day}` is not a day: write `2026-11-25`")
    if not climbed:
        raise SheetError("it has no rung: `bench SPEC --ladder DRIVE --as csv` gives a sheet")
    return Filled(told.get("drive", ""), told.get("fingerprint", ""), day, tuple(climbed))


def _climbed(line: int, row: list[str]) -> Climbed:
    number, tries, speed, ramp, result, remark = (*row, *("",) * len(HEAD))[: len(HEAD)]
    if tries not in ("speed", "ramp") or not number.isdecimal():
        raise SheetError(f"line {line}: a rung is written `3,speed,40,75,ok,`")
    try:
        at, gained = float(speed), float(ramp)
    except ValueError:
        raise SheetError(f"line {line}: `{speed}` and `{ramp}` are to be numbers") from None
    if result and result not in OUTCOMES:
        raise SheetError(
            f"line {line}: `{result}` is no result: write `ok`, `rough` or `stalled`, or leave it "
            "empty where it was not tried"
        )
    rung = Rung(int(number), "speed" if tries == "speed" else "ramp", at, gained)
    return Climbed(rung, Outcome(result) if result else None, remark)


# --- What follows -------------------------------------------------------------------------------


def results_text(model: Model, drive: Drive, filled: Filled, found: Sequence[Limit]) -> str:
    """Tell what a filled-in ladder says, and what to write in the file."""
    lines = [f"{model.prop}: what the ladder of {drive.output} says", ""]
    if filled.fingerprint and filled.fingerprint != fingerprint(model):
        lines += wrap(
            f"the sheet was made for fingerprint {filled.fingerprint}, and the file is now "
            f"{fingerprint(model)}: see that nothing changed that matters",
            WIDTH,
        )
    if not filled.day:
        lines += wrap("the sheet has no day: a limit belongs to a build, so write it down", WIDTH)
    for limit in found:
        lines += wrap(f"{limit.tries}: {limit.words}", WIDTH, subsequent_indent="   ")
        lines += _against_file(drive, limit)
    for each in filled.climbed:
        if each.outcome in (Outcome.STALLED, Outcome.ROUGH) or each.remark:
            seen = each.outcome.value if each.outcome else "not tried"
            remark = f": {each.remark}" if each.remark else ""
            at = f"{each.rung.speed:g} rpm, {each.rung.ramp:g} rpm/s"
            lines.append(f"   rung {each.rung.number} ({at}) {seen}{remark}")
    written = lines_for_the_file(found, filled.day)
    if written:
        lines += ["", f"Write under `drives`, `{drive.output}`:", ""]
        lines += [f"    {line}" for line in written]
    return "\n".join([*lines, ""])


def _against_file(drive: Drive, limit: Limit) -> Iterator[str]:
    there = dict(drive.figures).get(limit.tries)
    if there is None or limit.setting is None or there.unit.startswith("steps"):
        return
    value = rounded(measured(there, limit.unit))
    verdict = "within that" if value <= limit.setting else "more than that"
    margin = f"; it stalled at {limit.stalled / value:.2g} times it" if limit.stalled else ""
    yield f"   the file has {value:g} {limit.unit}: {verdict}{margin}"


def _told(lines: Sequence[str]) -> Iterator[str]:
    for line in lines:
        yield from wrap(line, WIDTH, initial_indent=" - ", subsequent_indent="   ")
