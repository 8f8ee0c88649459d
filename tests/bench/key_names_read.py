"""How many names beside the squares of keys become names of yarns (needs the extra `letters`).

    python -m tests.bench.key_names_read [--fit] [--count 40] [--first 0] [--kind named] [--list]

Seeds of the test set and of the set for fitting (`--fit`) are apart. A name counts as right when it is
the yarn's own, capitals aside; *left out* when the yarn was named by its colour.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from PIL import Image

from pic2chart.core.errors import Pic2ChartError
from pic2chart.model.yarn import yarn_lab
from pic2chart.reading.chart_photo import Reading, read_photo
from pic2chart.sheets.marks.order import to_page
from pic2chart.yarns.classes import colour_words
from tests.bench.charts_read import FIT
from tests.helpers.drawn_charts import DrawnChart, drawn_chart


def names_read(reading: Reading, drawn: DrawnChart) -> Iterator[tuple[str, str, str]]:
    """For each yarn drawn: right, wrong or left out; its name; and the one that was read."""
    got = to_page(reading.chart.stitches, reading.chart.hand)
    words = set(colour_words([tuple(lab) for lab in yarn_lab(reading.chart.yarns).tolist()]))
    for number, name in enumerate(drawn.names):
        # The yarn that most of its squares were read as; a yarn that no square has is nobody's.
        squares = got[drawn.yarn == number]
        if not len(squares):
            continue
        read = reading.chart.yarns[int(np.bincount(squares).argmax())].name
        if read.casefold() == name.casefold():
            yield "right", name, read
        else:
            yield "left out" if read in words else "wrong", name, read


def tried(drawn: DrawnChart, folder: Path) -> list[tuple[str, str, str]]:
    """What became of every name of one picture."""
    path = folder / "chart.png"
    Image.fromarray(drawn.page).save(path, compress_level=1)
    try:
        reading = read_photo(path)
    except Pic2ChartError:
        return [("refused", name, "") for name in drawn.names]
    if reading.chart.stitches.shape != drawn.yarn.shape:
        return [("other size", name, "") for name in drawn.names]
    key = any(said.code == "key-seen" for said in reading.report.remarks)
    return [
        (outcome if key else f"no key, {outcome}", name, read)
        for outcome, name, read in names_read(reading, drawn)
    ]


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("--fit", action="store_true")
    given.add_argument("--count", type=int, default=40)
    given.add_argument("--first", type=int, default=0)
    given.add_argument("--kind", choices=("keyed", "named"), default="named")
    given.add_argument("--list", action="store_true")
    options = given.parse_args()
    counts: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(options.first, options.first + options.count):
            drawn = drawn_chart(seed + FIT * options.fit, options.kind)
            for outcome, name, read in tried(drawn, Path(folder)):
                counts[outcome] += 1
                if options.list and outcome != "right":
                    print(f"{seed + FIT * options.fit}: {outcome}: {name!r} read as {read!r}")
    print(f"{sum(counts.values())} names: {dict(counts.most_common())}")


if __name__ == "__main__":
    main()
