"""Names for the yarns of a chart that was read: yarns given or on a shelf, a key's, or words for colours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from pic2chart.core.colour import delta_e2000, srgb_to_lab
from pic2chart.model.yarn import Yarn, yarn_lab
from pic2chart.reading.reading_settings import ReadSettings
from pic2chart.yarns.classes import colour_words
from pic2chart.yarns.shelf import read_shelf


def yarns_for(
    colours: NDArray[np.uint8], settings: ReadSettings, read: Mapping[int, str]
) -> tuple[Yarn, ...]:
    """A yarn for each colour [n, 3]: those given, or the shelf's, so that all are as near as can be.

    Colours that are left over get the name that was read for their number, or words. Raises InputError or SettingError for a yarn or shelf that
    cannot be read.
    """
    given = tuple(Yarn.parse(text) for text in settings.yarn)
    if settings.shelf is not None:
        given += read_shelf(Path(settings.shelf))
    lab = srgb_to_lab(colours)
    near = dict(_nearest(lab, given))
    words = colour_words([tuple(one) for one in lab.tolist()])
    names = [near[n].name if n in near else word for n, word in enumerate(words)]
    for number, name in read.items():
        if number not in near and name.casefold() not in map(str.casefold, names):
            names[number] = name
    return tuple(
        near.get(number) or Yarn(name, "#{:02x}{:02x}{:02x}".format(*rgb))
        for number, (name, rgb) in enumerate(zip(names, colours.tolist(), strict=True))
    )


def _nearest(lab: NDArray[np.float64], given: Sequence[Yarn]) -> list[tuple[int, Yarn]]:
    """Pairs of a colour's number and a yarn, no yarn twice, with the least difference in all."""
    from scipy.optimize import linear_sum_assignment

    if not given:
        return []
    apart = delta_e2000(lab[:, None], yarn_lab(given)[None])
    rows, columns = linear_sum_assignment(apart)
    return [(int(r), given[c]) for r, c in zip(rows, columns, strict=True)]
