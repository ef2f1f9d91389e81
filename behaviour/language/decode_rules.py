"""Reads `rules` and `excused`: what must hold, and which findings are meant.

It knows nothing of which names there are, nor of how a rule is judged.
"""

from behaviour.findings import KINDS, NOT_CHECKED_YET, Label
from behaviour.language import syntax
from behaviour.language.conditions import read_condition
from behaviour.language.fields import (
    Fields,
    Owner,
    fields_at,
    items_at,
    mapping_at,
    narrowed,
    word_at,
)
from behaviour.language.nodes import Listing, Mapping, Node
from behaviour.language.phrases import listed, there_is
from behaviour.language.reading import Reading
from behaviour.language.shapes import (
    CONDITION,
    STATE_NAME,
    TEXT,
    TIME,
    WHOLE,
    Choice,
    Either,
    Group,
    ListOf,
    Named,
    Shape,
)
from behaviour.language.syntax import Word
from behaviour.language.values import time_of, whole_of
from behaviour.model import Time
from behaviour.source import Span
from behaviour.units import shortened

FORM = "rules: [{name: no air under an open lid, never: valve is open and lid is open}]"

_LEADS: dict[str, tuple[str, ...]] = {
    "never": ("for",),
    "at all times": (),
    "while": ("at most", "at least"),
    "whenever": ("then", "within"),
    "first": ("before", "since"),
    "count": ("at most", "per", "since"),
    "way back": (),
}
"""The key that a rule of each kind begins with, and those that may follow."""

_SCOPES = ("only while", "once begun", "up to")
_CONDITIONS = (*_LEADS, "then", "before", "since", *_SCOPES)
_TIMES = ("for", "within", "at least", "per")
_FOLLOWERS = tuple(dict.fromkeys(key for keys in _LEADS.values() for key in keys))
_KEYS = ("name", *_LEADS, *_FOLLOWERS, *_SCOPES, "because")
_NEEDED = {
    "whenever": (("then", "then: lamp is red"),),
    "first": (("before", "before: valve is open"),),
    "count": (("at most", "at most: 3"),),
}


def _rule_shape(lead: str) -> Group:
    keys: dict[str, Shape] = {"name": TEXT, lead: CONDITION}
    for key in _LEADS[lead]:
        keys[key] = CONDITION if key in _CONDITIONS else TIME
    if lead == "count":
        keys["at most"] = WHOLE
    if lead != "way back":
        keys |= dict.fromkeys(_SCOPES, CONDITION)
    needed = tuple(key for key, _ in _NEEDED.get(lead, ()))
    return Group(f"rule: {lead}", keys | {"because": TEXT}, ("name", lead, *needed))


RULE = Either(tuple(_rule_shape(lead) for lead in _LEADS))


def decode_rules(reading: Reading, node: Node) -> tuple[syntax.Rule, ...]:
    """Read every rule."""
    found = []
    for item in items_at(reading, node, "`rules`", FORM):
        owner = Owner("this rule", narrowed(item.span), "rule")
        fields = fields_at(reading, item, owner, _KEYS, FORM)
        rule = None if fields is None else _rule(fields)
        if rule is not None:
            found.append(rule)
    _check_names(reading, found)
    return tuple(found)


def _rule(fields: Fields) -> syntax.Rule | None:
    name = None
    if fields.needed("name", "name: nothing turns under an open lid") is not None:
        name = fields.word("name", "text")
    lead = _lead(fields)
    conditions = tuple(
        (key, read_condition(fields.reading, entry.value, f"`{key}`"))
        for key, entry in fields.entries.items()
        if key in _CONDITIONS
    )
    says = "rule" if name is None else name.text
    limit = None if lead is None else _limit(fields, lead, says)
    most = None if lead is None else _most(fields, lead)
    kind = lead
    if lead is not None:
        sound = (_check_scope(fields, lead), _check_since(fields), _check_ends(fields, lead))
        kind = lead if all(sound) and not _lacks_its_time(fields, lead, limit) else None
    return syntax.Rule(
        name=name or Word("", fields.owner.at),
        kind=kind,
        conditions=conditions,
        limit=limit,
        most=most,
        at_least=fields.has("at least"),
        because=fields.text("because"),
        span=fields.owner.at if lead is None else fields.entries[lead].value.span,
    )


def _lead(fields: Fields) -> str | None:
    """Find the key that says what kind of rule it is, and refuse those that do not go with it."""
    leads = [key for key in fields.entries if key in _LEADS]
    if not leads:
        if not fields.damaged:
            fields.reading.mistakes.add(
                fields.owner.at,
                "this rule does not say what must hold",
                label="no requirement",
                hint=f"a rule begins with {listed(_LEADS)}",
            )
        return None
    lead, *others = leads
    for key in others:
        fields.refuse(
            key,
            f"`{key}` and `{lead}` are two requirements, and a rule holds one",
            label="a second requirement",
            hint="make two rules of it",
        )
    for key in fields.entries:
        if key in _FOLLOWERS and key not in _LEADS[lead] and not others:
            fitting = [kind for kind, keys in _LEADS.items() if key in keys]
            message = f"`{key}` does not go with `{lead}`"
            fields.refuse(key, message, hint=f"it goes with {listed(fitting)}")
    for key, proposal in _NEEDED.get(lead, ()):
        fields.needed(key, proposal)
    return lead


def _limit(fields: Fields, lead: str, name: str) -> Time | None:
    """Read the time of a rule, wherever its kind has it."""
    times: dict[str, Time | None] = {}
    for key in (*_TIMES, "at most") if lead != "count" else _TIMES:
        if fields.has(key) and key in _LEADS[lead]:
            word = fields.word(key, "a time")
            what = f"{name}: {key}"
            times[key] = None if word is None else time_of(fields.reading, word, what)
    if lead == "while" and not times:
        fields.needed("at most", "at most: 2 s")
    return next(iter(times.values()), None)


def _lacks_its_time(fields: Fields, lead: str, limit: Time | None) -> bool:
    """Tell whether a time stands in a rule that could not be read."""
    keys = {"never": "for", "whenever": "within", "count": "per"}
    return limit is None and lead in keys and fields.has(keys[lead])


def _most(fields: Fields, lead: str) -> int | None:
    """Read how often something may begin."""
    if lead != "count" or not fields.has("at most"):
        return None
    word = fields.word("at most", "a whole number")
    return None if word is None else whole_of(fields.reading, word)


def _check_scope(fields: Fields, lead: str) -> bool:
    """Refuse a second scope, and one for what is asked of all that can be reached."""
    scopes = [key for key in _SCOPES if fields.has(key)]
    if scopes and lead == "way back":
        fields.refuse(
            scopes[0],
            f"`{scopes[0]}` does not go with `way back`, which is asked wherever the prop can get",
            label="no scope here",
            hint="leave it out, or write `whenever: ...` with `then: ...`",
        )
        return False
    for key in scopes[1:]:
        fields.refuse(
            key,
            f"`{key}` and `{scopes[0]}` are two scopes, and a rule has one",
            label="a second scope",
            hint="write `only while: ...` with both in one condition, or make two rules of it",
        )
    return len(scopes) < 2  # noqa: PLR2004


def _check_since(fields: Fields) -> bool:
    if not (fields.has("per") and fields.has("since")):
        return True
    fields.refuse(
        "since",
        "`since` and `per` are two ways to begin counting anew, and a rule has one",
        label="a second way to count",
        hint="leave one out, or make two rules of it",
    )
    return False


def _check_ends(fields: Fields, lead: str) -> bool:
    if lead != "while" or not (fields.has("at most") and fields.has("at least")):
        return True
    fields.refuse(
        "at least",
        "`at most` and `at least` are two requirements, and a rule holds one",
        label="a second requirement",
        hint="make two rules of it",
    )
    return False


def _check_names(reading: Reading, rules: list[syntax.Rule]) -> None:
    first: dict[str, Span] = {}
    for rule in rules:
        name = rule.name
        if not name.text:
            continue
        if name.text in first:
            reading.mistakes.add(
                name.span,
                f"two rules have the name `{shortened(name.text)}`",
                label="again here",
                related=(Label(first[name.text], "first here"),),
                hint="findings speak of a rule by its name: give each its own",
            )
        first.setdefault(name.text, name.span)


# --- Excused ------------------------------------------------------------------------------------

EXCUSED_FORM = "excused: {dead-end: the show ends here}"

_NOT_CHECKS = ("rule-broken", "faults")
EXCUSABLE = tuple(
    name for name in (*(kind.name for kind in KINDS), *NOT_CHECKED_YET) if name not in _NOT_CHECKS
)

_EXCUSE = Group("excuse", {"in": STATE_NAME, "because": TEXT}, needed=("because", "in"))
EXCUSED = Named(Either((TEXT, _EXCUSE, ListOf(Either((TEXT, _EXCUSE))))), Choice(EXCUSABLE))


def decode_excused(reading: Reading, node: Node) -> tuple[syntax.Excuse, ...]:
    """Read which checks are excused, wholly or in one place, and why."""
    mapping = mapping_at(reading, node, "`excused`", EXCUSED_FORM)
    found: list[syntax.Excuse] = []
    for entry in () if mapping is None else mapping.entries:
        check = Word(entry.key.text, entry.key.span)
        _check_check(reading, check)
        items = entry.value.items if isinstance(entry.value, Listing) else (entry.value,)
        excuses = [_excuse(reading, check, item) for item in items]
        found += [excuse for excuse in excuses if excuse is not None]
    return tuple(found)


def _check_check(reading: Reading, check: Word) -> None:
    if check.text in EXCUSABLE:
        return
    if check.text in _NOT_CHECKS:
        hint = "change the rule, or what breaks it"
        message = f"`{check.text}` cannot be excused"
        reading.mistakes.add(check.span, message, label="not a check", hint=hint)
        return
    near = reading.near(check.text, EXCUSABLE)
    message = f"`{shortened(check.text)}` is not the name of a check"
    hint = there_is("check", near) or f"the checks are {listed(EXCUSABLE, 'and')}"
    reading.mistakes.add(check.span, message, label="no such check", hint=hint)


def _excuse(reading: Reading, check: Word, node: Node) -> syntax.Excuse | None:
    if not isinstance(node, Mapping):
        why = word_at(reading, node, f"`{check.text}`", "the reason, or `in` and `because`")
        if why is None:
            return None
        return syntax.Excuse(check=check.text, because=why.text, place=None, span=check.span)
    owner = Owner("this excuse", narrowed(node.span), "excuse")
    form = "{in: carousel.turn, because: the show ends here}"
    fields = fields_at(reading, node, owner, _EXCUSE.keys, form)
    if fields is None:
        return None
    fields.needed("because", "because: the show ends here")
    fields.needed("in", "in: carousel.turn")
    return syntax.Excuse(
        check=check.text,
        because=fields.text("because"),
        place=fields.word("in", "a region, or a state as `carousel.turn`"),
        span=check.span,
    )
