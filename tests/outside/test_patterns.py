"""Our rules against the published specification patterns, on words that end in a round.

Source of the formulas: Dwyer, Avrunin and Corbett, ICSE 1999, pp. 411-420, as their page
matthewbdwyer.github.io/psp/patterns/ltl.html has them; the response row is in part from memory.
"""

import random
from functools import cache
from itertools import product

import pytest

from behaviour.check.judging import breaches, pending
from behaviour.findings import Run, Stimulus
from behaviour.model import (
    Always,
    AtLeast,
    AtMost,
    Count,
    First,
    Is,
    Never,
    Requirement,
    Scope,
    ScopeKind,
    Whenever,
)
from behaviour.story import Views, replay
from tests.making import input_, ms, prop, region, state
from tests.outside.ltl import (
    Formula,
    Lasso,
    always,
    both,
    either,
    finally_,
    holds,
    implies,
    no,
    p,
    until,
    weak,
)

NAMES = ("P", "S", "Q", "R")
P, S, Q, R = map(p, NAMES)
MODEL = prop(
    region("r", state("a")), inputs=[input_(name, "off", "on", steady=0) for name in NAMES]
)
ON = {name: Is(name, ("on",)) for name in NAMES}


@cache
def lassos(many: int) -> tuple[Lasso, ...]:
    dice = random.Random(7)
    found = []
    for _ in range(many):
        size = dice.randint(1, 6)
        letters = tuple(frozenset(n for n in NAMES if dice.random() < 0.4) for _ in range(size))
        found.append(Lasso(letters, dice.randrange(size)))
    return tuple(found)


@cache
def played(word: Lasso) -> Views:
    """Run what gives each input what the word says, its round gone several times."""
    letters = [*word.letters, *(word.letters[word.back :] * 4)]
    run = Run(tuple(Stimulus(tuple("on" if n in at else "off" for n in NAMES)) for at in letters))
    return replay(MODEL, run)


def kept(requirement: Requirement, word: Lasso, scope: Scope | None = None) -> bool:
    """Judge the run of a word."""
    views = played(word)
    if isinstance(requirement, Whenever):
        last = len(word.letters) - word.back
        return not all(pending(MODEL, requirement, views, scope)[-last:])
    return not breaches(MODEL, requirement, views, scope)


AT_MOST_TWO = weak(no(P), weak(P, weak(no(P), weak(P, always(no(P))))))

RULES: dict[str, tuple[Requirement, Formula, Formula]] = {
    "absence": (
        Never(condition=ON["P"]),
        always(no(P)),
        always(implies(Q, always(no(P)))),
    ),
    "universality": (Always(condition=ON["P"]), always(P), always(implies(Q, always(P)))),
    "response": (
        Whenever(trigger=ON["P"], response=ON["S"]),
        always(implies(P, finally_(S))),
        always(implies(Q, always(implies(P, finally_(S))))),
    ),
    "precedence": (
        First(condition=ON["S"], before=ON["P"]),
        weak(no(P), S),
        either(always(no(Q)), finally_(both(Q, weak(no(P), S)))),
    ),
    "bounded existence": (
        Count(condition=ON["P"], most=2),
        AT_MOST_TWO,
        implies(finally_(Q), until(no(Q), both(Q, AT_MOST_TWO))),
    ),
}


@pytest.mark.parametrize("name", RULES)
def test_a_rule_is_its_published_formula(name: str) -> None:
    requirement, globally, _ = RULES[name]
    for word in lassos(2000):
        assert kept(requirement, word) == holds(globally, word), word


@pytest.mark.parametrize("name", [each for each in RULES if each != "precedence"])
def test_once_begun_is_the_published_after(name: str) -> None:
    requirement, _, after = RULES[name]
    scope = Scope(kind=ScopeKind.ONCE_BEGUN, condition=ON["Q"])
    for word in lassos(2000):
        assert kept(requirement, word, scope) == holds(after, word), word


def test_precedence_once_begun_is_judged_from_the_first_time_on() -> None:
    """The published formula is content with any Q after which it holds; ours is with the first."""
    scope = Scope(kind=ScopeKind.ONCE_BEGUN, condition=ON["Q"])
    first = either(always(no(Q)), until(no(Q), both(Q, weak(no(P), S))))
    for word in lassos(2000):
        assert kept(RULES["precedence"][0], word, scope) == holds(first, word), word


def test_up_to_is_the_weak_form_of_the_published_before() -> None:
    """Published: `F R -> (!P U R)` says nothing where R never comes; ours is judged there too."""
    scope = Scope(kind=ScopeKind.UP_TO, condition=ON["R"])
    published = implies(finally_(R), until(no(P), R))
    differing = 0
    for word in lassos(2000):
        mine = kept(Never(condition=ON["P"]), word, scope)
        assert mine == holds(weak(no(P), R), word), word
        differing += mine != holds(published, word)
    assert differing > 0


TOLD_APART = {
    "existence between": (
        {"Q", "R"}, always(implies(both(Q, no(R)), weak(no(R), both(P, no(R))))), True
    ),
    "existence before": ({"P", "R"}, weak(no(R), both(P, no(R))), False),
    "existence after until": (
        {"Q", "R"}, always(implies(both(Q, no(R)), until(no(R), both(P, no(R))))), True
    ),
    "precedence": ({"P", "S"}, weak(no(P), S), True),
}  # fmt: skip


@pytest.mark.parametrize("name", TOLD_APART)
def test_one_state_words_tell_the_two_published_pages_apart(name: str) -> None:
    """What the page kept up today says of each; its old mirror says the other (computed)."""
    letter, formula, said = TOLD_APART[name]

    assert holds(formula, Lasso((frozenset(letter),), 0)) is said


def test_weak_until_is_what_the_identities_say() -> None:
    """`p W q = F(!p) -> (p U q) = p U (q | G p)`, same page."""
    every = [frozenset(n for n, on in zip("PQ", bits, strict=True) if on)
             for bits in product((False, True), repeat=2)]  # fmt: skip
    for letters in product(every, repeat=3):
        for back in range(3):
            word = Lasso(letters, back)
            told = holds(weak(P, Q), word)
            assert told == holds(implies(finally_(no(P)), until(P, Q)), word)
            assert told == holds(until(P, either(Q, always(P))), word)


def within(f: Formula, loops: int) -> Formula:
    """`F[0,t] f`, time counted in loops."""

    def at(w: Lasso) -> list[bool]:
        now = list(f(w))
        found = list(now)
        for _ in range(loops):
            found = [now[place] or found[w.after(place)] for place in range(len(now))]
        return found

    return at


@pytest.mark.parametrize("loops", [1, 2, 3])
def test_durations_are_the_published_ones_wherever_a_stretch_has_a_rise(loops: int) -> None:
    """Konrad and Cheng, ICSE 2005 (maximum duration as published; minimum duration from memory).

    Both formulas judge rises only: what holds from power-up is judged by ours, on purpose.
    """
    most = always(either(P, weak(no(P), both(P, within(no(P), loops)))))
    least = always(either(P, weak(no(P), no(within(no(P), loops - 1)))))
    longest = AtMost(condition=ON["P"], limit=ms(10 * loops))
    shortest = AtLeast(condition=ON["P"], limit=ms(10 * loops))
    differing = 0
    for word in lassos(1500):
        mine, theirs = kept(longest, word), holds(most, word)
        if "P" not in word.letters[0]:
            assert mine == theirs, word
            assert kept(shortest, word) == holds(least, word), word
        differing += mine != theirs
    assert differing > 0
