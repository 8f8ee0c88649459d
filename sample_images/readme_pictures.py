"""Make the pictures of README.md and DEVELOPERS.md from the current code: python sample_images/readme_pictures.py."""

from __future__ import annotations

from pathlib import Path

from pic2chart import Settings, chart_sheet, fabric_front, make_chart
from pic2chart.contrast import compare_yarns, contrast_files
from pic2chart.draw import sheet_svg
from pic2chart.files import make_folder, write_atomic

HERE = Path(__file__).parent
OUT = HERE / "readme"
OAT_INK = ("oat=#ece2d0", "ink=#26304c")
THREE = ("oat=#ece2d0", "rust=#a8502f", "moss=#5d6b3a")


def main() -> None:
    make_folder(OUT)
    dog = make_chart(HERE / "harbour-dog.png", Settings(yarn=OAT_INK)).chart
    write_atomic(OUT / "harbour-dog-front.png", fabric_front(dog, stitch_px=8))
    write_atomic(OUT / "harbour-dog.svg", sheet_svg(chart_sheet(dog)))
    tabby = Settings(yarn=OAT_INK, filler="sand")
    cat = make_chart(HERE / "tabby.png", tabby).chart
    write_atomic(OUT / "tabby-front.png", fabric_front(cat, stitch_px=8))
    swatches = contrast_files(compare_yarns(Settings(yarn=THREE)))
    write_atomic(OUT / "swatches.png", swatches["contrast.png"])


if __name__ == "__main__":
    main()
