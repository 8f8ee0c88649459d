"""How far the colours that `shade` measures are off, and whether its uncertainty holds.

    python -m tests.bench.shades --photos 44

Photographs of `tests.helpers.yarn_studio` (nothing was fitted to them): an ideal camera, two measured
sensors without a tone curve, and the same with a mild phone's curve and more colour. For each kind of
reference prints the median ΔE2000 to the fibre and to the yarn as wound, the share of yarns within the
stated ΔE*ab and within the stated L*, and the median of both statements.
"""

from __future__ import annotations

import argparse
import tempfile
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from pic2chart.core.colour import delta_e76, delta_e2000
from pic2chart.core.errors import InputError
from pic2chart.picture.decode import Box
from pic2chart.yarns.yarn_photo import PhotoOptions, measure_photo
from tests.helpers.yarn_studio import DAY, INDOORS, SENSORS, Shot, photograph

SEED = 5000


def questions(shot: Shot) -> Iterator[tuple[str, PhotoOptions]]:
    """What may lie beside the yarn."""
    patches = tuple((f"y{i}", Box.parse(box)) for i, (box, *_) in enumerate(shot.yarns))
    white, grey = Box.parse(shot.paper), Box.parse(shot.card)
    greys = tuple((f"lab({L:.2f}, 0, 0)", Box.parse(box)) for box, (L, _, _) in shot.greys)
    yield "paper", PhotoOptions(patches, white=white)
    yield "paper and grey card", PhotoOptions(patches, white=white, grey=grey)
    yield "and four greys", PhotoOptions(patches, white=white, grey=grey, knowns=greys)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--photos", type=int, default=44, help="of each kind of camera")
    count, refused = parser.parse_args().photos, 0
    rows: dict[tuple[str, str, bool], list[tuple[float, ...]]] = defaultdict(list)
    with tempfile.TemporaryDirectory() as folder:
        path, lamps = Path(folder) / "photo.jpg", (*DAY, *INDOORS)
        for at in range(3 * count):
            phone = ("ideal", "plain", "mild")[at // count]
            seed, lamp, sensor = SEED + at % count, lamps[at % 11], SENSORS[at // 11 % 2]
            shot = photograph(seed, lamp, sensor, phone)  # type: ignore[arg-type]
            path.write_bytes(shot.jpeg)
            for how, options in questions(shot):
                try:
                    found = measure_photo(path, options)
                except InputError:
                    refused += 1
                    continue
                every = zip(
                    found.shades, shot.yarns, found.uncertainties, found.within_L, strict=True
                )
                for shade, (_, fibre, wound), off, light in every:
                    rows[how, phone, shot.daylight].append(
                        (
                            float(delta_e2000(shade.lab, fibre)),
                            float(delta_e2000(shade.seen, wound)),
                            float(delta_e76(shade.lab, fibre)) <= (off or 0),
                            abs(shade.lab[0] - fibre[0]) <= (light or 0),
                            off or 0,
                            light or 0,
                        )
                    )
    print("reference, camera, light: yarns, fibre, as wound, within ΔE, within L*, ΔE, L*")
    for day in (True, False):
        for how in ("paper", "paper and grey card", "and four greys"):
            for phone in ("ideal", "plain", "mild", ""):
                part = [r for k, r in rows.items() if k[0] == how and k[2] is day and phone in k[1]]
                table = np.concatenate([np.array(one, float) for one in part])
                middle, share = np.median(table, axis=0), table.mean(axis=0)
                print(
                    f"{how}, {phone or 'all'}, {'day' if day else 'lamp'}: {len(table)}, "
                    f"{middle[0]:.1f}, {middle[1]:.1f}, {share[2]:.3f}, {share[3]:.3f}, "
                    f"{middle[4]:.0f}, {middle[5]:.1f}"
                )
    print(f"photos refused as over-exposed: {refused}")


if __name__ == "__main__":
    main()
