"""A folder of pictures becomes a library of motifs, and a library can be asked and published.

    from pathlib import Path
    from pic2chart import library

    recipe = library.Recipe().over({"stitches": 40, "yarn": ["oat=#ece2d0", "ink=#26304c"]})
    library.make_library(library.RunOptions(Path("pictures"), Path("motifs"), recipe))
    for result in library.find_motifs(Path("motifs"), library.Question("gull")):
        print(result.motif.number, result.motif.title)

Names are loaded when first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from pic2chart.library.batch import RunOptions, Summary, make_library
    from pic2chart.library.export import export as export_motifs
    from pic2chart.library.find import Question
    from pic2chart.library.find import find as find_motifs
    from pic2chart.library.find import fit as fit_motifs
    from pic2chart.library.gallery import write_gallery
    from pic2chart.library.recipe import Recipe
    from pic2chart.library.release import ReleaseOptions, make_release
    from pic2chart.library.states import set_states

_HOMES = {
    "Question": "find",
    "Recipe": "recipe",
    "ReleaseOptions": "release",
    "RunOptions": "batch",
    "Summary": "batch",
    "export_motifs": "export:export",
    "find_motifs": "find:find",
    "fit_motifs": "find:fit",
    "make_library": "batch",
    "make_release": "release",
    "set_states": "states",
    "write_gallery": "gallery",
}

__all__ = [
    "Question",
    "Recipe",
    "ReleaseOptions",
    "RunOptions",
    "Summary",
    "export_motifs",
    "find_motifs",
    "fit_motifs",
    "make_library",
    "make_release",
    "set_states",
    "write_gallery",
]


def __getattr__(name: str) -> Any:
    if name not in _HOMES:
        raise AttributeError(f"module 'pic2chart.library' has no attribute '{name}'")
    home, _, original = _HOMES[name].partition(":")
    return getattr(import_module(f"pic2chart.library.{home}"), original or name)
