"""English: a template for the code of every message, room by room, and the grammar they are filled by.

Nothing else in the package holds these sentences, so another language is another folder like this.
Templates may name parameters, options (`{option[float_limit]}`, with a value to give it after a
colon) and commands (`{command[chart]}`); see `pic2chart.core.messages`.
"""

from __future__ import annotations

from pic2chart.core.english.checks import CHECKS
from pic2chart.core.english.core import CORE
from pic2chart.core.english.design import DESIGN
from pic2chart.core.english.desk import DESK
from pic2chart.core.english.garment import GARMENT
from pic2chart.core.english.library import LIBRARY
from pic2chart.core.english.model import MODEL
from pic2chart.core.english.picture import PICTURE
from pic2chart.core.english.reading import READING
from pic2chart.core.english.sheets import SHEETS
from pic2chart.core.english.yarns import YARNS

ROOMS = (CORE, MODEL, PICTURE, CHECKS, YARNS, DESIGN, SHEETS, GARMENT, READING, LIBRARY, DESK)

TEMPLATES: dict[str, str] = {code: words for room in ROOMS for code, words in room.items()}
"""The words of every message by its code."""
