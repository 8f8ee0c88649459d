"""Make the pictures of README.md and the rooms' pages from the current code: python sample_images/readme_pictures.py."""

from __future__ import annotations

from pathlib import Path

from pic2chart import Settings, SheetSettings, chart_sheet, fabric_front, make_chart, sheet_files
from pic2chart.cli.words import SHELL
from pic2chart.compare import compare_looks, looks_picture
from pic2chart.core.files import make_folder, write_atomic
from pic2chart.garment.kinds.mitten import MittenOptions
from pic2chart.garment.kinds.yoke import YokeOptions
from pic2chart.garment.making import garment_files, make_garment
from pic2chart.sheets.fabric.back import fabric_back
from pic2chart.sheets.fabric.swatches import contrast_files
from pic2chart.sheets.writers.png import sheet_png
from pic2chart.sheets.writers.svg import sheet_svg
from pic2chart.yarns.contrast import compare_yarns

HERE = Path(__file__).parent
OUT = HERE.parent / "pictures"
OAT_INK = ("oat=#ece2d0", "ink=#26304c")
THREE = ("oat=#ece2d0", "rust=#a8502f", "moss=#5d6b3a")


def main() -> None:
    make_folder(OUT)
    dog = make_chart(HERE / "harbour-dog.png", Settings(yarn=OAT_INK)).chart
    write_atomic(OUT / "harbour-dog-front.png", fabric_front(dog, stitch_px=8))
    write_atomic(OUT / "harbour-dog.svg", sheet_svg(chart_sheet(dog)))
    sheets = sheet_files(dog, SheetSettings(only=("strands",), rounds="25"), "harbour-dog")
    write_atomic(OUT / "harbour-dog-strands.svg", sheets["parts/harbour-dog-strands-1.svg"])
    px_per_mm = 8 / (10 * dog.gauge.stitch_width)
    write_atomic(OUT / "harbour-dog-back.png", sheet_png(fabric_back(dog), px_per_mm))
    tabby = Settings(yarn=OAT_INK, filler="sand")
    cat = make_chart(HERE / "tabby.png", tabby).chart
    write_atomic(OUT / "tabby-front.png", fabric_front(cat, stitch_px=8))
    looks = compare_looks(HERE / "harbour-dog.png", Settings(yarn=OAT_INK))
    write_atomic(OUT / "harbour-dog-looks.png", looks_picture(looks, 3.0, SHELL))
    boat = make_chart(HERE / "boat.png", Settings(yarn=(*OAT_INK, THREE[1]))).chart
    write_atomic(OUT / "boat-front.png", fabric_front(boat, stitch_px=8))
    swatches = contrast_files(compare_yarns(Settings(yarn=THREE)))
    write_atomic(OUT / "swatches.png", swatches["contrast.png"])
    shelf = contrast_files(compare_yarns(Settings(shelf=str(HERE / "shelf.csv"))))
    write_atomic(OUT / "shelf-pairs.png", shelf["contrast-all.png"])
    mittens = make_garment("mitten", HERE / "tabby.png", Settings(yarn=OAT_INK), MittenOptions())
    write_atomic(
        OUT / "tabby-mittens.png", garment_files(mittens)["parts/tabby-mitten-outline.png"]
    )
    yoke = make_garment("yoke", HERE / "wave-repeat.png", Settings(yarn=OAT_INK), YokeOptions())
    write_atomic(OUT / "wave-yoke.png", garment_files(yoke)["parts/wave-repeat-yoke-outline.png"])


if __name__ == "__main__":
    main()
