"""Runs that are laid out when they are asked for, and no sooner."""

import pytest

from behaviour.explore.walking.later import Runs
from behaviour.findings import Run, Stimulus


def run_of(loops: int) -> Run:
    return Run((Stimulus(("released",)),) * loops)


def test_a_run_is_laid_out_once_and_only_if_somebody_asks():
    laid: list[str] = []

    def lay(name: str) -> Run:
        laid.append(name)
        return run_of(len(laid))

    runs = Runs()
    runs.put("a", lambda: lay("a"))
    runs.put("b", lambda: lay("b"))
    runs.put("a", lambda: run_of(9))

    assert "a" in runs
    assert "c" not in runs
    assert list(runs) == ["a", "b"]
    assert laid == []
    assert runs["b"] == run_of(1) == runs["b"]
    assert laid == ["b"]
    assert runs.get("c") is None
    with pytest.raises(KeyError):
        runs["c"]


def test_what_is_known_stays_before_what_others_found():
    runs, others = Runs(), {"a": run_of(1), "b": run_of(2)}
    runs.put("a", lambda: run_of(3))

    runs.put_all(others, lambda run: run_of(10 * len(run.stimuli)))

    assert dict(runs) == {"a": run_of(3), "b": run_of(20)}
