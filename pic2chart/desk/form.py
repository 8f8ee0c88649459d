"""The settings as the page's form: the same data the flags come from, in groups and plain words.

An option this table does not know appears under 'More' with a label made of its name.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import fields
from typing import Any

from pic2chart.core.settings import Settings, flag
from pic2chart.design.filler import FILLERS
from pic2chart.design.looks import AUTO, LOOKS
from pic2chart.model.wording import listed
from pic2chart.sheets.sheet_settings import SheetSettings

_LABELS = {
    "stitches": "Stitches across",
    "rounds": "Rounds up",
    "gauge": "Your gauge",
    "yarn": "Yarns",
    "shelf": "Shelf",
    "yarns": "How many yarns",
    "per_round": "Yarns in one round",
    "float_limit": "Longest float",
    "float_cm": "Longest float in cm",
    "long_floats": "Longer floats",
    "isolated": "Single stitches",
    "min_delta_L": "Light and dark apart by",
    "look": "How it is drawn",
    "focus": "Spots",
    "prove": "Look for a better chart",
    "paper": "Paper",
    "author": "Author line",
    "large_print": "Large print",
    "units": "Lengths in",
    "symbols": "Squares with",
    "wordless": "Signs instead of words",
    "heavy": "Heavier line every",
    "drape": "Strands on the back",
    "crop": "Frame",
    "subject": "Subject",
    "keep": "Painted in",
    "leave": "Painted out",
    "background": "Plain background in",
    "filler": "Pattern behind the subject",
    "flat": "Work back and forth in rows",
    "left_handed": "Left-handed",
    "swatch_grams": "Swatch weighs",
    "swatch_size": "Swatch area",
    "title": "Name",
    "seed": "Seed",
}
_HELP = {
    "stitches": "",
    "rounds": "Left empty, the picture's own shape decides.",
    "gauge": "Counted on a washed swatch in stranded knitting.",
    "look": "",
    "background": "",
    "filler": "Needs a subject, or a picture with a clear background.",
    "float_limit": "Stitches a yarn may pass behind before it is caught.",
    "float_cm": "The smaller of the two limits counts.",
    "long_floats": "",
    "isolated": "Stitches with none of their yarn around them.",
    "per_round": "",
    "min_delta_L": "In value, from 0 for the same grey to 100 for black and white.",
    "flat": "Otherwise the chart is knitted in the round.",
    "left_handed": "",
    "prove": "Seconds to spend on it; it also tells how near the best the chart is.",
    "seed": "Another number may give another chart where two are equally good.",
}
"""What the page says under a field, where the flag's help is not the right thing there."""
_CHOICES = {
    "catch": "catch them at the back",
    "break": "break them with stitches",
    "tidy": "tidy away",
    "keep": "keep",
    "a4": "A4",
    "letter": "Letter",
    "both": "colours and symbols",
    "colour": "colours alone",
    "plain": "plain symbols, for copying",
    "in": "inches",
}
_PHRASES = {
    "use the command chart": "use 'Choose a picture'",
    "Use the command chart": "Use 'Choose a picture'",
    "; NAME-subject.jpg shows it. 'Subject' none keeps everything, 'Painted in' and 'Painted out' "
    "x,y,radius correct it.": (
        ", as the picture shows. Paint what belongs to it, paint out what does not, or keep everything."
    ),
    "'Subject' x,y,width,height or 'Painted in' x,y,radius marks one": (
        "paint what belongs to it on the picture, or draw a box round it"
    ),
    "keep everything with 'Subject' none": "use 'Keep everything'",
    "'Subject' x,y,width,height": "'Subject' on the picture",
    "Put m_per_100g on the shelf": "Put metres in 100 g on the shelf, in a column m_per_100g",
}
"""Words of the corridor that belong to the command line, and those for the page."""
_GROUPS = {
    "Yarns": ("yarn", "yarns", "shelf"),
    "Size and gauge": ("stitches", "rounds", "gauge"),
    "Look and background": ("look", "background", "filler"),
    "Rules": (*("float_limit", "float_cm", "long_floats", "isolated", "per_round", "min_delta_L"),),
    "How you knit": ("flat", "left_handed"),
}
MARKS = frozenset({"subject", "keep", "leave"})
"""Settings that say what the subject of the picture is."""
_ELSEWHERE = ("crop", "focus", "title", *MARKS)
"""Set on the picture itself and in the page's heading."""
STITCHES_STAY = frozenset({"title", "left_handed"})
"""Settings that never touch a stitch."""
RULES = STITCHES_STAY | {
    *("gauge", "per_round", "float_limit", "float_cm", "long_floats", "isolated", "min_delta_L"),
    "flat",
}
"""Settings that a chart without a picture, or reshaped by hand, can still be put under."""
_SHEETS = ("paper", "author", "units", "symbols", "large_print", "wordless", "heavy", "drape")


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


def label(name: str) -> str:
    """The page's words for an option."""
    return _LABELS.get(name, name.replace("_", " ").capitalize())


def labels(names: Iterable[str]) -> str:
    """Several options in the form's order, in lower case."""
    order = [f.name for f in fields(Settings)]
    words = [label(name) for name in sorted(names, key=order.index)]
    return listed([word[:1].lower() + word[1:] for word in words]) if words else "nothing"


def step_words(changed: Iterable[str], settings: Settings) -> str:
    """What a change of these settings is called in the history."""
    names = set(changed)
    if names & {"keep", "leave"} and names <= MARKS | {"background", "filler"}:
        if settings.keep or settings.leave:
            return "Mark the subject"
        words = {"none": "Keep everything", "auto": "Find the subject"}
        return words.get(settings.subject, "Take the subject's marks away")
    return f"Change {labels(names)}"


def in_plain_words(message: str, own: Callable[[str], str | None] = lambda name: None) -> str:
    """A message of the corridor with each flag in the page's words; `own`: those of a garment."""
    names = {flag(f.name): f.name for f in fields(Settings)}

    def named(found: re.Match[str]) -> str:
        plain = found[0].removeprefix("--").replace("-", "_")
        name = names.get(found[0], plain)
        return f"'{own(name) or label(name)}'"

    message = re.sub(r"--[a-z][a-z-]*(?![\w-])", named, message)
    for said, plain in _PHRASES.items():
        message = message.replace(said, plain)
    return message


def field_of(name: str, default: Any, facts: Any, own: str | None = None) -> dict[str, Any]:
    """One option as the page needs it: label, help, unit, range, choices, kind and default.

    `own`: the label a garment has for it.
    """
    choices = [{"value": c, "label": _CHOICES.get(c, c)} for c in facts["choices"]]
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
        "help": _HELP.get(name, facts["help"]),
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
