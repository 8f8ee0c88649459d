"""The knit-along page: one HTML file that works offline, round by round, on phone and tablet.

Everything is inside the file: style, script and chart; it loads nothing and sends nothing. Its
security policy allows only this very script and style, and whatever names hold is only text.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Sequence
from importlib.resources import files
from typing import Any

from pic2chart.checks.cautions import cautions
from pic2chart.model.chart import Chart
from pic2chart.model.construction import CALLED, StepSection
from pic2chart.model.keys import KEYS, rows_of
from pic2chart.model.wording import round_word
from pic2chart.sheets.marks.page import clean
from pic2chart.sheets.marks.symbols import ink_on
from pic2chart.sheets.sheet_settings import PLAIN, SheetLook
from pic2chart.sheets.words.folding import Group
from pic2chart.sheets.words.ladders import ladder_words
from pic2chart.sheets.words.spoken import (
    Run,
    Spoken,
    called,
    label,
    sentence,
    shaping_words,
    speak,
)
from pic2chart.stranding.strands import Strands


def knit_along(chart: Chart, plan: Strands, look: SheetLook = PLAIN, served: bool = False) -> str:
    """The page of one chart as HTML text. The same chart gives the same page."""
    return knit_along_all([(chart, plan)], chart.title, chart.construction.steps, look, served)


def knit_along_all(
    pieces: Sequence[tuple[Chart, Strands]],
    title: str,
    pattern: Sequence[StepSection],
    look: SheetLook = PLAIN,
    served: bool = False,
) -> str:
    """The page of several pieces, one shown at a time, with the pattern of the whole. `served`: it may
    speak to the server that gives it out, which keeps its place; a file speaks to nobody.
    """
    from jinja2 import Environment, StrictUndefined
    from markupsafe import Markup

    style, script = _style(), _script()
    template = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True)
    (chart, plan), names = pieces[0], [called(chart) for chart, _ in pieces]
    data = [_data(chart, plan) for chart, plan in pieces]
    return template.from_string(_part("page.html")).render(
        title=clean(title),
        author=look.author,
        word=round_word(chart, 1),
        words=round_word(chart, 2),
        count=chart.round_count,
        policy=policy(served),
        style=Markup(style),
        script=Markup(script),
        data=Markup(_json(data[0] if len(data) == 1 else {"pieces": data})),
        pieces=[
            (clean(piece.title), [(label(s, piece), sentence(s, own)) for s in speak(piece)])
            for (piece, _), own in zip(pieces, names, strict=True)
        ],
        pattern=pattern,
        hold=plan.holding(chart.hand)[:3],
        cautions=cautions(chart),
    )


def policy(served: bool) -> str:
    """The page's security policy: its very style and script, and where it is served, its server's."""
    own = " 'self'; connect-src 'self'" if served else ""
    return f"default-src 'none'; style-src {_hash(_style())}; script-src {_hash(_script())}{own}"


def _style() -> str:
    return _part("page.css")


def _script() -> str:
    return "".join(map(_part, ("chart.js", "words.js", "page.js")))


def _part(name: str) -> str:
    return files("pic2chart.sheets.knit_along").joinpath("page", name).read_text("utf-8")


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode()).digest()
    return f"'sha256-{base64.b64encode(digest).decode()}'"


def _json(data: Any) -> str:
    """JSON that can stand inside a script element: nothing in it can end the element."""
    text = json.dumps(data, ensure_ascii=True, separators=(",", ":"))
    return text.replace("<", "\\u003c").replace(">", "\\u003e").replace("&", "\\u0026")


def _data(chart: Chart, plan: Strands) -> dict[str, Any]:
    """What the script needs. Stitches count from 1, yarns from 0; `back` and `wrong` hold rounds,
    from 0.
    """
    spoken = speak(chart)
    squares, rows = rows_of(chart.stitches), [chart.row(r) for r in range(chart.round_count)]
    place = hashlib.sha256("\n".join([chart.title, chart.worked, chart.hand, *squares]).encode())
    return {
        "place": place.hexdigest()[:16],
        "word": round_word(chart, 1),
        "flat": not chart.in_round,
        "back": [row.round for row in rows if row.backwards],
        "wrong": [row.round for row in rows if row.wrong_side],
        "hand": chart.hand,
        "aspect": round(chart.gauge.aspect, 4),
        "yarns": [
            {"key": key, "name": name, "colour": yarn.colour, "ink": ink_on(yarn.colour)}
            for key, name, yarn in zip(KEYS, called(chart), chart.yarns, strict=False)
        ],
        "rows": squares,
        "spoken": [_spoken(s, called(chart)) for s in spoken],
        "rounds": [i for i, s in enumerate(spoken) for _ in range(s.first, s.last + 1)],
        "orders": [list(r.order) for r in plan.rounds],
        "changes": {str(r): list(words) for r, words in plan.changes.items()},
    }


def _spoken(spoken: Spoken, names: Sequence[str]) -> dict[str, Any]:
    ladders = (ladder_words(spots, names) for spots in spoken.ladders)
    return {
        "parts": [_plain_part(part) for part in spoken.parts],
        "shaped": "; ".join(filter(None, (shaping_words(spoken), *ladders))),
        "shapes": [[CALLED[kind], [s + 1 for s in stitches]] for kind, stitches in spoken.shaped],
        "catches": [[yarn, [s + 1 for s in stitches]] for yarn, stitches in spoken.catches],
    }


def _plain_part(part: Run | Group[Run]) -> Any:
    if isinstance(part, Group):
        return {"times": part.times, "runs": [_plain_part(run) for run in part.runs]}
    return [part.count, part.yarn]
