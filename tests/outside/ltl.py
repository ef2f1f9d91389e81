"""Linear temporal logic on lasso-shaped words, by its definition. It knows nothing of props."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

Letter = frozenset[str]


@dataclass(frozen=True)
class Lasso:
    """A word that ends in `letters[back:]` repeated for ever."""

    letters: tuple[Letter, ...]
    back: int

    def after(self, at: int) -> int:
        return at + 1 if at + 1 < len(self.letters) else self.back


Truths = Sequence[bool]
Formula = Callable[[Lasso], Truths]
"""Gives the truth at every place of a word."""


def p(name: str) -> Formula:
    return lambda w: [name in letter for letter in w.letters]


def no(f: Formula) -> Formula:
    return lambda w: [not each for each in f(w)]


def both(*fs: Formula) -> Formula:
    return lambda w: [all(each) for each in zip(*(f(w) for f in fs), strict=True)]


def either(*fs: Formula) -> Formula:
    return lambda w: [any(each) for each in zip(*(f(w) for f in fs), strict=True)]


def implies(f: Formula, g: Formula) -> Formula:
    return either(no(f), g)


def until(f: Formula, g: Formula) -> Formula:
    """The least set with g, or f and the set in the next place."""

    def at(w: Lasso) -> Truths:
        stays, comes = f(w), list(g(w))
        for _ in w.letters:
            for place in reversed(range(len(w.letters))):
                comes[place] = comes[place] or (stays[place] and comes[w.after(place)])
        return comes

    return at


def finally_(f: Formula) -> Formula:
    return until(either(f, no(f)), f)


def always(f: Formula) -> Formula:
    return no(finally_(no(f)))


def weak(f: Formula, g: Formula) -> Formula:
    """`f W g`: f until g, or f for ever."""
    return either(always(f), until(f, g))


def holds(f: Formula, w: Lasso) -> bool:
    return f(w)[0]
