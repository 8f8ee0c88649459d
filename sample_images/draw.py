"""Draw the sample pictures of the harbour town beside this file: python sample_images/draw.py"""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

HERE = Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

import brush  # noqa: E402  (the brushes lie beside this file)
import dog  # noqa: E402
import marks  # noqa: E402
import scenes  # noqa: E402
import skeins  # noqa: E402

PICTURES: dict[str, Callable[[], brush.Field | tuple[brush.Field, brush.Field]]] = {
    "harbour-dog": dog.harbour_dog,
    "gull": scenes.gull,
    "kelp": scenes.kelp,
    "lighthouse": scenes.lighthouse,
    "boat": scenes.boat,
    "tabby": marks.tabby,
    "word": marks.word,
    "wave-repeat": marks.wave_repeat,
    "skeins": skeins.skeins,
}


def draw_all(folder: Path) -> list[Path]:
    """Draw every picture as a PNG in the folder; the same pixels every time."""
    paths = []
    for name, picture in PICTURES.items():
        drawn = picture()
        path = folder / f"{name}.png"
        brush.save(path, *(drawn if isinstance(drawn, tuple) else (drawn,)))
        paths.append(path)
    return paths


if __name__ == "__main__":
    for path in draw_all(HERE):
        print(path.name)
