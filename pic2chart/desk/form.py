"""The settings as the page's form: the same data the flags come from, in groups and plain words.

An option this table does not know appears under 'More' with a label made of its name.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import fields
from typing import Any

from pic2chart.core.english.grammar import one_line
from pic2chart.core.messages import Door, Message, fill, message, render
from pic2chart.core.settings import Settings
from pic2chart.design.filler import FILLERS
from pic2chart.design.looks import AUTO, LOOKS
from pic2chart.model.wording import listed
from pic2chart.reading.reading_settings import GaugeSettings
from pic2chart.sheets.sheet_settings import SheetSettings

_LABELS = {
    "stitches": "Stitches across",
    "rounds": "Rounds up",
    "gauge": "Your gauge",
    "yarn": "Yarns",
    "shelf": "Yarns you have",
    "yarns": "How many yarns",
    "per_round": "Yarns in one round",
    "float_limit": "Longest float",
    "float_cm": "Longest float in cm",
    "long_floats": "Longer floats",
    "isolated": "Single stitches",
    "min_delta_L": "Light and dark apart by",
    "look": "How it is drawn",
    "focus": "Eyes",
    "prove": "Look for a better chart",
    "paper": "Paper",
    "author": "Author line",
    "large_print": "Large print",
    "units": "Lengths in",
    "symbols": "Squares with",
    "wordless": "Signs instead of words",
    "heavy": "Heavier line every",
    "english": "English",
    "drape": "Strands on the back",
    "crop": "Frame",
    "turn": "Turned by degrees",
    "frame": "How close",
    "subject": "Subject",
    "keep": "Painted in",
    "leave": "Painted out",
    "background": "Plain background in",
    "filler": "Pattern behind the subject",
    "flat": "Work back and forth in rows",
    "left_handed": "Left-handed",
    "white": "White paper",
    "as_lit": "Leave the light as it is",
    "swatch_grams": "Swatch weighs",
    "swatch_cm2": "Swatch area",
    "m_per_100g": "Metres in 100 g",
    "title": "Name",
    "card": "Corners of the card",
    "between": "A length you mark",
    "cm": "That length",
    "coin_mm": "The coin's width",
    "ruler": "A ruler or tape measure",
    "stitches_along": "Marks along a row",
    "stitches_counted": "Stitches between the marks along a row",
    "rounds_along": "Marks up a column",
    "rounds_counted": "Rounds between the marks up a column",
}
_HELP = {
    "stitches": "",
    "rounds": "Left empty, the picture's own shape decides.",
    "yarns": "Most yarns to choose, from those you have or from the picture.",
    "shelf": "The yarns you keep on this desk.",
    "gauge": "Counted on a washed swatch in stranded knitting; British patterns call it tension.",
    "frame": "Head and shoulders are for upright people and animals.",
    "look": "",
    "background": "",
    "filler": "Needs a subject, or a picture with a clear background.",
    "float_limit": "Stitches a yarn may pass behind before it is caught.",
    "float_cm": "The smaller of the two limits counts.",
    "long_floats": "",
    "isolated": "Stitches with none of their yarn around them.",
    "per_round": "",
    "min_delta_L": "From 0 for the same grey to 100 for black and white.",
    "flat": "Otherwise the chart is knitted in the round.",
    "left_handed": "",
    "card": "Lay a bank or library card (85.6 × 54 mm) beside the swatch and drag the four points onto its "
    "corners, where the straight edges would meet.",
    "between": "Drag two points onto marks of known distance, such as 0 and 10 on a ruler.",
    "cm": "",
    "coin_mm": "Straight across, in millimetres; 23.25 for one euro. Plain ground round the coin.",
    "ruler": "Marked in millimetres, flat and straight, at least 6 cm of it in view. Inches are not read.",
    "stitches_along": "",
    "stitches_counted": "Halves count too.",
    "rounds_along": "",
    "rounds_counted": "",
    "prove": "Seconds to spend on it; it also tells how near the best the chart is.",
}
"""What the page says under a field, where the flag's help is not the right thing there."""
_CHOICES = {
    "catch": "catch them at the back",
    "break": "break them with stitches",
    "tidy": "tidy away",
    "keep": "keep",
    "a4": "A4",
    "letter": "Letter",
    "whole": "the whole picture",
    "close": "the subject, close",
    "head": "head and shoulders",
    "both": "colours and symbols",
    "colour": "colours alone",
    "plain": "plain symbols, for copying",
    "in": "inches",
    "fill": "filling the whole back",
    "fit": "whole, with a small pattern round it",
    "slit": "opened later, in the palm",
    "gusset": "with a gusset, roomier",
    "mirrored": "mirrored",
    "same": "the same way round, for words",
    "crochet": "crocheted",
    "sewn": "sewn",
    "uk": "British",
    "us": "American",
    "loop": "a backward loop",
    "lifted": "the bar lifted",
}
_COMMANDS = {"chart": "Choose a picture", "read": "Read a photo of a chart", "mend": "Mend"}
"""What on the page does the work of a command."""
_GROUPS = {
    "Yarns": ("yarn", "yarns", "shelf"),
    "Size and gauge": ("stitches", "rounds", "gauge"),
    "Look and background": ("frame", "look", "background", "filler"),
    "Rules": (*("float_limit", "float_cm", "long_floats", "isolated", "per_round", "min_delta_L"),),
    "How you knit": ("flat", "left_handed"),
}
MARKS = frozenset({"subject", "keep", "leave"})
"""Settings that say what the subject of the picture is."""
_ON_PICTURE = ("crop", "turn", "focus", *sorted(MARKS))
_ELSEWHERE = (*_ON_PICTURE, "title", "seed")
"""Set on the picture itself and in the page's heading; and what a knitter has no use for."""
STITCHES_STAY = frozenset({"title", "left_handed"})
"""Settings that never touch a stitch."""
RULES = STITCHES_STAY | {
    *("gauge", "per_round", "float_limit", "float_cm", "long_floats", "isolated", "min_delta_L"),
    "flat",
}
"""Settings that a chart without a picture, or reshaped by hand, can still be put under."""
_SHEETS = (
    *(
        "paper",
        "author",
        "english",
        "units",
        "symbols",
        "large_print",
        "wordless",
        "heavy",
        "drape",
    ),
)


def form() -> list[dict[str, Any]]:
    """Groups of fields in the order they are shown."""
    known = {name for names in _GROUPS.values() for name in names}
    facts = {f.name: field_of(f.name, f.default, f.metadata) for f in fields(Settings)}
    groups = [
        {"title": title, "fields": [facts[name] for name in names if name in facts]}
        for title, names in _GROUPS.items()
    ]
    rest = [facts[name] for name in facts if name not in known and name not in _ELSEWHERE]
    return [*groups, {"title": "More", "fields": rest}] if rest else groups


def sheet_form() -> list[dict[str, Any]]:
    """The fields of the sheets that the page offers."""
    facts = {f.name: f for f in fields(SheetSettings)}
    return [field_of(name, facts[name].default, facts[name].metadata) for name in _SHEETS]


def gauge_form() -> list[dict[str, Any]]:
    """The fields of counting a gauge on a photo."""
    return [field_of(f.name, f.default, f.metadata) for f in fields(GaugeSettings)]


def label(name: str) -> str:
    """The page's words for an option."""
    return _LABELS.get(name, name.replace("_", " ").capitalize())


def labels(names: Iterable[str]) -> str:
    """Several options in the form's order, in lower case."""
    order = [f.name for f in fields(Settings)]
    words = [label(name) for name in sorted(names, key=order.index)]
    return listed([word[:1].lower() + word[1:] for word in words]) if words else "nothing"


Labels = Callable[[str], str | None]
"""The words that a form has of its own for an option, None for those it shares with all."""


def step_words(changed: Iterable[str], settings: Settings) -> str:
    """What a change of these settings is called in the history."""
    names = set(changed)
    if names & {"keep", "leave"} and names <= MARKS | {"background", "filler"}:
        if settings.keep or settings.leave:
            return "Mark the subject"
        words = {"none": "Keep everything", "auto": "Find the subject"}
        return words.get(settings.subject, "Take the subject's marks away")
    if "turn" in names and names <= {"turn", "crop"}:
        return "Turn the picture"
    return f"Change {labels(names)}"


def step_thing(kind: str | None, before: str | None) -> str:
    """What choosing a thing is called in the history."""
    if kind is None:
        return "Make a chart of it"
    return f"Change the {kind}" if kind == before else f"Make a {kind} of it"


def page(own: Labels = lambda name: None) -> Door:
    """The page's names for things; `own`: a garment's, which go before those all forms share."""

    def named(name: str, value: str) -> str:
        """A field by its label, with what to put into it; on the picture nothing is typed."""
        field = f"'{own(name) or label(name)}'"
        if name in (*_ON_PICTURE, "white") and "," in value:
            return f"{field} on the picture"
        return f"{field} {_CHOICES.get(value, value)}" if value else field

    return Door(named, lambda name: f"'{_COMMANDS[name]}'")


PAGE = page()


def worded(what: Message, own: Labels | None = None) -> str:
    """A message as the page says it; `own`: the words of a garment's form, where it is about one."""
    return one_line(render(_with_a_brush(what), PAGE if own is None else page(own)))


_NO_NEWS = frozenset(
    {"subject-found", "drawn-in", "drawn-in-on", "catches-not-settled", "catches-beside"}
)
"""Remarks that say what the page shows anyway, or what nobody can do anything about."""


def news(remarks: Iterable[Message]) -> tuple[Message, ...]:
    """The remarks that the page passes on."""
    return tuple(remark for remark in remarks if remark.code not in _NO_NEWS)


def _with_a_brush(what: Message) -> Message:
    """What the page says in another way, since there a subject is painted."""
    facts = dict(what.parameters)
    if what.code == "no-one-subject":
        return message("desk-no-one-subject")
    if what.code == "part-without-subject":
        return message("desk-part-without-subject", part=facts["part"], file=facts["file"])
    return what


def field_of(name: str, default: Any, facts: Any, own: str | None = None) -> dict[str, Any]:
    """One option as the page needs it: label, help, unit, range, choices, kind and default.

    `own`: the label a garment has for it.
    """
    choices = [{"value": c, "label": _CHOICES.get(c, c)} for c in facts["choices"]]
    if name == "frame":
        choices[0]["label"] = "the subject where one is found"
    if name == "look":
        choices = [
            {"value": AUTO, "label": "whichever shows the picture best"},
            *(
                {"value": look.name, "label": f"{look.name}: {look.description}"}
                for look in LOOKS.values()
            ),
        ]
    if name == "filler":
        choices = [
            {"value": filler.name, "label": f"{filler.name}: {filler.description}"}
            for filler in FILLERS.values()
        ]
    return {
        "name": name,
        "label": own or label(name),
        "help": _HELP.get(name, fill(facts["help"], PAGE)),
        "unit": facts["unit"],
        "low": facts["low"],
        "high": facts["high"],
        "choices": choices,
        "kind": facts["kind"].__name__,
        "many": isinstance(default, tuple),
        "optional": default is None,
        "from_picture": name not in RULES,
        "default": list(default) if isinstance(default, tuple) else default,
        "example": facts["example"],
    }
