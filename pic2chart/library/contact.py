"""The contact sheet: one page that works from a disk, without any network, with every motif in it.

Each motif's own PNG of one pixel a stitch (some hundred bytes) is in the page, so 5,000 of them make a
page of a few megabytes; only the cards in view are in the document, so that it scrolls at once.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from pic2chart.library.difficulty import FORMULA, grade
from pic2chart.library.motif import Motif, repeat_words
from pic2chart.library.publish import MOTIFS


def contact_html(
    motifs: Iterable[Motif], alike: Mapping[str, list[tuple[str, str, float]]], title: str
) -> str:
    """The page. `alike`: by name, the motifs nearly the same as it."""
    from jinja2 import Environment

    plain = json.dumps([_plain(motif, alike) for motif in motifs], separators=(",", ":"))
    script, style = _part("contact.js"), _part("contact.css")
    page = Environment(autoescape=True).from_string(_part("contact.html.j2"))
    return page.render(
        title=title,
        formula=FORMULA,
        script=script,
        style=style,
        script_hash=_hash(script),
        style_hash=_hash(style),
        data=plain.replace("<", "\\u003c"),
    )


def _plain(motif: Motif, alike: Mapping[str, list[tuple[str, str, float]]]) -> dict[str, Any]:
    """What the page knows of a motif."""
    return {
        "n": motif.number,
        "name": motif.name,
        "title": motif.title,
        "path": motif.path,
        "stitches": motif.stitches,
        "rounds": motif.rounds,
        "cm": [motif.width_cm, motif.height_cm],
        "gauge": motif.gauge,
        "worked": motif.worked,
        "repeat": motif.repeat_kind,
        "unit": motif.repeat_stitches,
        "repeatWords": repeat_words(motif),
        "yarns": [[y.name, y.colour] for y in motif.yarns if y.stitches],
        "float": motif.longest_float,
        "catches": motif.catches,
        "isolated": motif.isolated,
        "contrast": motif.contrast,
        "likeness": motif.likeness,
        "difficulty": motif.difficulty,
        "grade": grade(motif.difficulty),
        "errors": motif.errors,
        "said": motif.said[:5],
        "tags": motif.tags,
        "files": [f"{MOTIFS}/{motif.name}/{file}" for file in motif.files],
        "alike": [[name, how] for name, how, _ in alike.get(motif.name, [])[:6]],
        "png": base64.b64encode(motif.pixels).decode("ascii"),
    }


@cache
def _part(name: str) -> str:
    return files("pic2chart.library").joinpath(name).read_text(encoding="utf-8")


def _hash(text: str) -> str:
    """For the page's own security policy, which lets nothing else run."""
    return base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
