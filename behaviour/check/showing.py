"""What each state answers and shows, read off the file: inputs left unanswered, states alike."""

from collections.abc import Iterator

from behaviour.check.asking import Asking
from behaviour.check.verdicts import Told, Verdicts, finding
from behaviour.explore.guards import atoms, count
from behaviour.findings import Finding, Label
from behaviour.model import Becomes, HeldFor, Is, Model, Region, State, Transition
from behaviour.semantics import candidates, is_open, settings

SHOWS = ("lamp", "light", "sound")
"""The kinds of outputs by which a prop tells people where it is."""


def check_showing(asking: Asking) -> Told:
    """Check every region's answers and looks."""
    silent, alike = Verdicts("unanswered"), Verdicts("looks-alike")
    found: list[Finding] = []
    for region in asking.model.regions:

        def unanswered(region: Region = region) -> bool:
            return _gathered(found, _unanswered(asking.model, region))

        def looks_alike(region: Region = region) -> bool:
            return _gathered(found, _alike(asking.model, region))

        silent.decide(unanswered)
        alike.decide(looks_alike)
    return Told((silent.verdict(), alike.verdict()), tuple(found))


def _gathered(found: list[Finding], new: Iterator[Finding]) -> bool:
    before = len(found)
    found += new
    return len(found) > before


def _leaves(region: Region) -> list[State]:
    return [state for state in region.states if not state.children]


# --- Answers ------------------------------------------------------------------------------------


def _unanswered(model: Model, region: Region) -> Iterator[Finding]:
    """Give one note for each state that leaves something unanswered which others answer.

    What a mechanism moves is no question that a person asks, and a lockout answers nothing.
    """
    moved = {name for each in model.mechanism for state in each.states for name, _ in state.reads}
    answers = {leaf.number: _answered(model, region, leaf) for leaf in _leaves(region)}
    asked = frozenset().union(*answers.values()) - moved
    for leaf in _leaves(region):
        path = [region.states[number] for number in region.path(leaf.number)]
        if any(state.lockout for state in path):
            continue
        ignored = {name for state in path for name in state.ignores}
        left = asked - answers[leaf.number] - ignored
        names = [item.name for item in model.inputs if item.name in left]
        if names:
            listed = ", ".join(f"`{name}`" for name in names)
            yield finding(
                "unanswered",
                f"`{region.name}.{leaf.name}` does not answer {listed}, and other states do",
                leaf.span,
                "not answered here",
                hint=f"`ignores: [{', '.join(names)}]` if that is meant, or a way on",
                place=(region.name, leaf.name),
            )


def _answered(model: Model, region: Region, leaf: State) -> frozenset[str]:
    return frozenset(
        atom.name
        for way in candidates(region, leaf.number, 0)
        if isinstance(way, Transition) and is_open(region, leaf.number, way)
        for atom in atoms(way.when)
        if isinstance(atom, Is | Becomes | HeldFor) and atom.name in model.input
    )


# --- Looks --------------------------------------------------------------------------------------

Looks = tuple[tuple[int, tuple[tuple[str, str | None], ...]], ...]
"""What a state shows from which loop on; None where an output keeps what it had."""


def _alike(model: Model, region: Region) -> Iterator[Finding]:
    """Tell of each state that looks like one before it which asks for something else."""
    first: dict[Looks, list[tuple[State, str]]] = {}
    for leaf in _leaves(region):
        says = _operator(region, leaf)
        if not says:
            continue
        before = first.setdefault(_looks(model, region, leaf), [])
        other = next((state for state, text in before if text != says), None)
        before.append((leaf, says))
        if other is not None:
            yield finding(
                "looks-alike",
                f"`{region.name}.{leaf.name}` looks like `{region.name}.{other.name}`, and asks "
                "something else of the operator",
                leaf.span,
                "the same lamps, lights and sounds",
                hint="another lamp, light or sound in one of them, or the same words",
                place=(region.name, leaf.name),
                related=(Label(other.span, "looks the same"),),
            )


def _operator(region: Region, leaf: State) -> str:
    """Give what the operator is told: by the innermost state that says something."""
    texts = [region.states[number].operator for number in region.path(leaf.number)]
    return next((text for text in reversed(texts) if text), "")


def _looks(model: Model, region: Region, leaf: State) -> Looks:
    shown: list[tuple[int, tuple[tuple[str, str | None], ...]]] = []
    for done in range(len(leaf.cues) + 1):
        sets = settings(region, leaf.number, done)
        now = tuple(
            (output.name, sets.get(output.name, None if output.keeps else output.rest))
            for output in model.outputs
            if output.kind in SHOWS and model.owner.get(output.name) == region.name
        )
        if not shown or shown[-1][1] != now:
            shown.append((0 if done == 0 else count(model, leaf.cues[done - 1].at), now))
    return tuple(shown)
