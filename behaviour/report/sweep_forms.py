"""Which rules hold at which values: as text, as CSV, and as plain values for programs.

What was tried is said and nothing beyond it: between two values anything may be.
"""

import csv
from collections.abc import Iterator, Mapping, Sequence
from io import StringIO

from behaviour.findings import Answer
from behaviour.fingerprint import fingerprint
from behaviour.model import Model
from behaviour.report.paint import PLAIN, Paint
from behaviour.report.verdict import verdict_of
from behaviour.results import Tried
from behaviour.source import Source

FORMAT = 1
WIDTH = 100
GAP = "  "
UNREADABLE = "unreadable"

JsonObject = dict[str, object]
Row = tuple[str, tuple[str, ...]]


def sweep_text(
    source: Source, model: Model, names: Sequence[str], tried: Sequence[Tried], paint: Paint = PLAIN
) -> str:
    """Lay out the rules, and the checks that do not hold everywhere, by the values tried."""
    copy = f"{source.name}: {model.prop}, fingerprint {fingerprint(model)}"
    lines = [f"{copy}, with {' and '.join(names)} otherwise"]
    lines.append("What is between two of these values was not tried.")
    sections = {"rules": _rules(tried), "checks that do not hold everywhere": _checks(tried)}
    lines += _table(names, tried, {title: rows for title, rows in sections.items() if rows}, paint)
    lines += [""] if any(each.outcome is None for each in tried) else []
    lines += [
        f"{', '.join(each.values)}: cannot be read: {each.mistake}"
        for each in tried
        if each.outcome is None
    ]
    return "\n".join(lines) + "\n"


def sweep_csv(names: Sequence[str], tried: Sequence[Tried]) -> str:
    """Give a line for each value, with a column for each rule and each check."""
    out = StringIO()
    writer = csv.writer(out, lineterminator="\n")
    rows = (*_rules(tried), *_checks(tried, every=True))
    writer.writerow([*names, "file", *(name for name, _ in rows)])
    for at, each in enumerate(tried):
        writer.writerow([*each.values, _whole(each), *(answers[at] for _, answers in rows)])
    return out.getvalue()


def sweep_object(
    source: Source, model: Model, names: Sequence[str], tried: Sequence[Tried]
) -> JsonObject:
    """Give all verdicts at each point; it changes only with `FORMAT`."""
    return {
        "format": FORMAT,
        "file": source.name,
        "prop": model.prop,
        "fingerprint": fingerprint(model),
        "points": [_point(names, each) for each in tried],
    }


def _point(names: Sequence[str], tried: Tried) -> JsonObject:
    told: JsonObject = {
        "values": dict(zip(names, tried.values, strict=True)),
        "verdict": _whole(tried),
    }
    if tried.outcome is None:
        return {**told, "mistake": tried.mistake}
    for sort, verdicts in (("rules", tried.outcome.rules), ("checks", tried.outcome.checks)):
        told[sort] = [
            {
                "name": each.name,
                "verdict": each.answer.value,
                **({"why": each.why} if each.why else {}),
                **({"guesses": list(each.guesses)} if each.guesses else {}),
            }
            for each in verdicts
        ]
    return told


def _whole(tried: Tried) -> str:
    return UNREADABLE if tried.outcome is None else verdict_of(tried.outcome).value


# --- Rows of answers ----------------------------------------------------------------------------


def _rules(tried: Sequence[Tried]) -> tuple[Row, ...]:
    names = dict.fromkeys(
        rule.name for each in tried if each.outcome for rule in each.outcome.rules
    )
    return tuple((name, tuple(_answer(each, name) for each in tried)) for name in names)


def _checks(tried: Sequence[Tried], *, every: bool = False) -> tuple[Row, ...]:
    """Give the answers of each check; only of those that do not hold somewhere, unless `every`."""
    names = dict.fromkeys(
        check.name for each in tried if each.outcome for check in each.outcome.checks
    )
    rows = ((name, tuple(_answer(each, name, of_rule=False) for each in tried)) for name in names)
    holds = (Answer.HOLDS.value, UNREADABLE)
    return tuple(
        (name, answers) for name, answers in rows if every or not set(answers) <= set(holds)
    )


def _answer(tried: Tried, name: str, *, of_rule: bool = True) -> str:
    if tried.outcome is None:
        return UNREADABLE
    verdicts = tried.outcome.rules if of_rule else tried.outcome.checks
    return next((each.answer.value for each in verdicts if each.name == name), "")


# --- Text ---------------------------------------------------------------------------------------


def _table(
    names: Sequence[str],
    tried: Sequence[Tried],
    sections: Mapping[str, Sequence[Row]],
    paint: Paint,
) -> Iterator[str]:
    """Lay out answers by values, as many columns side by side as there is room for."""
    every = [row for rows in sections.values() for row in rows]
    first = max(len(each) for each in (*sections, *names, *(name for name, _ in every)))
    widths = [
        max(len(word) for word in (*each.values, *(answers[at] for _, answers in every)))
        for at, each in enumerate(tried)
    ]
    for begin, end in _pages(widths, WIDTH - first):
        columns = range(begin, end)
        yield ""
        for place, name in enumerate(names):
            head = [tried[at].values[place].ljust(widths[at]) for at in columns]
            yield GAP.join([name.ljust(first), *head]).rstrip()
        for title, rows in sections.items():
            yield paint.strong(title)
            for name, answers in rows:
                cells = [
                    _painted(answers[at], paint) + " " * (widths[at] - len(answers[at]))
                    for at in columns
                ]
                yield GAP.join([name.ljust(first), *cells]).rstrip()


def _pages(widths: Sequence[int], room: int) -> Iterator[tuple[int, int]]:
    begin, used = 0, 0
    for at, width in enumerate(widths):
        if at > begin and used + width + len(GAP) > room:
            yield begin, at
            begin, used = at, 0
        used += width + len(GAP)
    yield begin, len(widths)


def _painted(answer: str, paint: Paint) -> str:
    match answer:
        case "holds":
            return paint.good(answer)
        case "broken":
            return paint.bad(answer)
        case _:
            return paint.doubtful(answer)
