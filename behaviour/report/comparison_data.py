"""What came of a recording held against the behaviour, as plain values for programs."""

from behaviour.bench.comparing import Comparison, Kept
from behaviour.bench.sighting import Mismatch
from behaviour.bench.windows import Crossing
from behaviour.model import Micros, Model
from behaviour.report.comparison_text import verdict_word
from behaviour.report.coverage_text import mark_words

FORMAT = 1

JsonObject = dict[str, object]


def comparison_object(model: Model, spec: str, name: str, told: Comparison) -> JsonObject:
    """Give all of it as one plain object; it changes only with `FORMAT`. Times are of the file."""
    total, worst = told.late_loops
    found: JsonObject = {
        "format": FORMAT,
        "file": spec,
        "recording": name,
        "prop": model.prop,
        "fingerprint": told.fingerprint,
        "recorded_fingerprint": told.capture.fingerprint,
        "verdict": verdict_word(told),
        "agrees_until_ms": _ms(told.followed.until),
        "ends_ms": _ms(told.capture.ends),
        "differences": [
            {**_mismatch(each), "expected": _expected(told, each)}
            for each in told.followed.mismatches
        ],
        "late_loops": {"count": total, "most_in_a_row": worst},
        "recorded": [signal.name for signal in told.capture.signals],
        "not_looked_at": list(told.capture.unused),
        "upset": told.is_upset,
        "too_quick": [
            {
                "input": each.input,
                "value": each.value,
                "at_ms": _ms(each.at),
                "loops": each.loops,
                "needed": each.needed,
            }
            for each in told.quick
        ],
        "movements": [_crossing(model, told, each) for each in told.crossings],
        "rules": [
            {
                "name": each.rule.name,
                "verdict": each.kept.value,
                **({"why": each.why} if each.why else {}),
                **({"at_ms": _ms(told.seen.at[each.loop])} if each.kept is Kept.BROKEN else {}),
                **({"by_behaviour": list(each.by_behaviour)} if each.by_behaviour else {}),
            }
            for each in told.rules
        ],
        "not_shown": {
            sort.value: [mark_words(model, m) for m in told.coverage.missing(sort)]
            for sort in dict.fromkeys(mark.sort for mark in told.coverage.marks)
        },
    }
    if told.followed.open:
        found["not_decided"] = told.followed.open
    return found


def _ms(at: Micros) -> float:
    return at / 1000


def _mismatch(each: Mismatch) -> JsonObject:
    return {"name": each.name, "at_ms": _ms(each.at), "seen": each.seen}


def _expected(told: Comparison, each: Mismatch) -> list[str]:
    both = (each, *told.followed.also)
    same = (o.expected for o in both if (o.sort, o.name) == (each.sort, each.name))
    return list(dict.fromkeys(same))


def _crossing(model: Model, told: Comparison, each: Crossing) -> JsonObject:
    states = model.mechanisms[each.mechanism].states
    loop_ms = model.loop / 1000
    return {
        "mechanism": each.mechanism,
        "from": states[each.source].name,
        "to": states[each.target].name,
        "at_ms": _ms(told.seen.at[each.loop]),
        "took_ms": None if each.took is None else each.took * loop_ms,
        "least_ms": each.low * loop_ms if each.is_whole else None,
        "most_ms": None if each.took is None else each.high * loop_ms,
        "arrived": each.is_over,
        "within": not each.is_broken,
    }
