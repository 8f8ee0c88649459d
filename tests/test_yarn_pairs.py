"""Another yarn never makes a chart show less: it is held against the chart in two of the yarns."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from skimage import data
from sklearn.datasets import load_sample_image

from pic2chart.core.settings import Settings
from pic2chart.design.solution import shown_lightness
from pic2chart.picture.source import afresh, read_grid
from pic2chart.pipeline import Made, draft_grid, likeness_now, make_chart

OAT, RUST, INK, FOG = "oat=#ece2d0", "rust=#a8502f", "ink=#26304c", "fog=#aeb6bd"


@pytest.fixture(scope="module")
def photographs(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    folder = tmp_path_factory.mktemp("photographs")
    pictures = {name: getattr(data, name)() for name in ("chelsea", "astronaut", "coffee")}
    pictures["flower"] = load_sample_image("flower.jpg")
    for name, pixels in pictures.items():
        Image.fromarray(pixels).save(folder / f"{name}.png")
    return {name: folder / f"{name}.png" for name in pictures}


def headline(made: Made) -> float:
    assert made.report.likeness is not None
    return made.report.likeness.chart.headline


@pytest.mark.parametrize("name", ["chelsea", "astronaut", "coffee", "flower"])
@pytest.mark.parametrize("subject", ["auto", "none"])
@pytest.mark.parametrize("added", [(RUST,), (FOG, RUST)], ids=["three", "four"])
def test_another_yarn_never_shows_less(
    photographs: dict[str, Path], name: str, subject: str, added: tuple[str, ...]
) -> None:
    """Than the pair that is knitted, by its own measure; or, where more than two are knitted, than
    oat and ink, both held against the picture as all the yarns show it.
    """
    picture, words = photographs[name], (OAT, INK, *added)
    settings = Settings(stitches=40, yarn=words, subject=subject)
    more = make_chart(picture, settings)
    drawn, used = more.chart.source["drawn"], np.unique(more.chart.stitches).tolist()
    two = tuple(words[k] for k in used) if len(used) == 2 else (OAT, INK)
    alike = replace(settings, yarn=two, look=drawn["look"], background=drawn.get("ground"))
    pair = make_chart(picture, alike)
    if len(used) == 2:
        assert headline(more) >= headline(pair) - 1e-9
        return
    source, grid, _ = read_grid(picture, settings, afresh)
    names = [yarn.name for yarn in more.chart.yarns]
    ground = names.index(drawn["ground"]) if "ground" in drawn else None
    how = more.chart.yarns, replace(settings, look=drawn["look"]), ground
    judge = draft_grid(grid, source.picture, *how).reference
    both = (judge.compare(shown_lightness(m.chart.stitches, m.chart.yarns)) for m in (more, pair))
    first, second = both
    assert first.headline >= second.headline - 1e-9


def test_what_two_of_the_yarns_show_is_said_alike_later(photographs: dict[str, Path]) -> None:
    for name, picture in photographs.items():
        settings = Settings(stitches=40, yarn=(OAT, RUST, INK))
        made = make_chart(picture, settings)
        again = likeness_now(picture, settings, made.chart)
        assert again.headline == pytest.approx(headline(made), abs=1e-9), name
