"""Pictures: every format and orientation gives the same pixels, hostile files one clear sentence."""

import hashlib
import io
import os
import struct
import subprocess
import sys
import zlib
from pathlib import Path
from shutil import copyfile

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image

from pic2chart.core.errors import InputError, SettingError
from pic2chart.picture.decode import Box, load_picture

FORMATS = {
    "jpg": {"format": "JPEG", "quality": 98, "subsampling": 0},
    "png": {"format": "PNG"},
    "webp": {"format": "WEBP", "lossless": True},
    "tif": {"format": "TIFF"},
    "bmp": {"format": "BMP"},
    "gif": {"format": "GIF"},
}
HEIC = Path(__file__).with_name("heic")
"""Written once with an encoder that is not installed with the program: the scene below in each Exif
orientation, noise, and the sample picture of the lighthouse."""


def scene(width: int = 120, height: int = 90) -> np.ndarray:
    """A lighthouse at night: no two corners alike, smooth enough for every format."""
    y, x = np.mgrid[:height, :width]
    rgb = np.dstack([40 + 60 * x / width, 60 + 90 * y / height, 120 + 0 * x])
    rgb[height // 6 : height // 2, width // 8 : width // 3] = (236, 226, 208)
    rgb[2 * height // 3 :, width // 2 :] = (168, 80, 47)
    return rgb.astype(np.uint8)


def save(path: Path, image: Image.Image | np.ndarray, **options) -> Path:
    image = image if isinstance(image, Image.Image) else Image.fromarray(image)
    image.save(path, **{**FORMATS[path.suffix[1:]], **options})
    return path


@pytest.mark.parametrize("suffix", [*FORMATS, "heic"])
def test_every_format_gives_the_same_picture(tmp_path, suffix):
    path = tmp_path / f"lighthouse.{suffix}"
    if suffix == "heic":
        copyfile(HEIC / "scene-1.heic", path)
    else:
        save(path, scene())
    picture = load_picture(path)
    assert picture.size == (120, 90)
    assert picture.scale == 1
    assert picture.opacity is None
    assert picture.name == f"lighthouse.{suffix}"
    assert picture.sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert not picture.rgb.flags.writeable
    difference = np.abs(picture.rgb.astype(int) - scene())
    assert difference.mean() < (5 if suffix == "gif" else 2.5)


# Exif 2.3, tag 0x0112: which visual side the stored row 0 and column 0 are.
STORED = {
    1: lambda a: a,
    2: lambda a: a[:, ::-1],
    3: lambda a: a[::-1, ::-1],
    4: lambda a: a[::-1],
    5: lambda a: a.swapaxes(0, 1),
    6: lambda a: a.swapaxes(0, 1)[::-1],
    7: lambda a: a.swapaxes(0, 1)[::-1, ::-1],
    8: lambda a: a.swapaxes(0, 1)[:, ::-1],
}


@pytest.mark.parametrize("suffix", ["jpg", "png", "tif", "webp", "heic"])
@pytest.mark.parametrize("turn", STORED)
def test_every_orientation_comes_out_upright(tmp_path, suffix, turn):
    exif = Image.Exif()
    exif[0x0112] = turn
    stored = np.ascontiguousarray(STORED[turn](scene()))
    if suffix == "heic":  # the encoder turned Exif orientation into the file's own transform
        path = HEIC / f"scene-{turn}.heic"
    else:
        path = save(tmp_path / f"a.{suffix}", stored, exif=exif)
    crop = Box(10, 8, 70, 41)
    picture = load_picture(path, crop=crop)
    assert picture.size == (120, 90)
    assert picture.window == crop
    assert picture.rgb.shape == (41, 70, 3)
    difference = np.abs(picture.rgb.astype(int) - scene()[8:49, 10:80])
    assert difference.mean() < 2


@pytest.mark.parametrize("turn", STORED)
def test_a_drafted_crop_shows_the_same_place(tmp_path, turn):
    upright = scene(1203, 901)
    exif = Image.Exif()
    exif[0x0112] = turn
    path = save(tmp_path / "a.jpg", np.ascontiguousarray(STORED[turn](upright)), exif=exif)
    crop = Box(101, 33, 640, 480)
    small = load_picture(path, crop=crop, cells=(10, 7))
    assert small.scale == pytest.approx(1 / 8, rel=0.02)
    exact = Image.fromarray(upright[33:513, 101:741]).resize(
        small.rgb.shape[1::-1], Image.Resampling.BOX
    )
    difference = np.abs(small.rgb.astype(int) - np.asarray(exact))
    assert np.percentile(difference, 95) < 30  # only the stepped edges may differ
    middles = [np.argwhere(p[..., 0] > 150).mean(axis=0) for p in (small.rgb, np.asarray(exact))]
    assert np.abs(middles[0] - middles[1]).max() < 0.6  # half a reduced pixel, 1/16 of a stitch


@pytest.mark.parametrize("suffix", ["jpg", "png", "tif", "webp"])
@pytest.mark.parametrize("cells", [(20, 20), (33, None), (5, 3), (400, 300)])
def test_reduction_leaves_eight_pixels_a_stitch_and_five_of_a_jpeg(tmp_path, suffix, cells):
    path = save(tmp_path / f"a.{suffix}", scene(1001, 777))
    height, width = load_picture(path, cells=cells).rgb.shape[:2]
    pixels = 5 if suffix == "jpg" else 8
    assert width >= min(1001, pixels * cells[0])
    assert height >= min(777, pixels * (cells[1] or 1))
    if cells != (400, 300):
        assert width < 1001


@pytest.mark.parametrize("suffix", ["jpg", "png"])
def test_so_many_pixels_across_are_left_in_any_format(tmp_path, suffix):
    path = save(tmp_path / f"a.{suffix}", scene(1000, 777))
    for across, width in ((1000, 1000), (501, 1000), (500, 500), (2000, 1000)):
        assert load_picture(path, across=across).rgb.shape[1] == width


def test_reduced_pixels_are_the_box_average(tmp_path):
    rgb = np.random.default_rng(3).integers(0, 256, (480, 640, 3), dtype=np.uint8)
    picture = load_picture(save(tmp_path / "a.png", rgb), cells=(20, 15))
    mean = rgb.reshape(120, 4, 160, 4, 3).mean(axis=(1, 3))
    assert picture.rgb.shape == (120, 160, 3)
    assert np.abs(picture.rgb - mean).max() <= 0.51


def test_deep_grey_palette_and_bits(tmp_path):
    ramp = np.tile(np.linspace(0, 65535, 256).astype(np.uint16), (64, 1))
    for name in ("deep.png", "deep.tif"):
        picture = load_picture(save(tmp_path / name, Image.fromarray(ramp)))
        assert np.abs(picture.rgb[0, :, 0].astype(int) - np.arange(256)).max() <= 1
    palette = Image.fromarray(scene()).quantize(64)
    assert (load_picture(save(tmp_path / "p.png", palette)).rgb == palette.convert("RGB")).all()
    bits = Image.fromarray(scene()).convert("1")
    assert (load_picture(save(tmp_path / "b.png", bits)).rgb == bits.convert("RGB")).all()


def test_cmyk_jpeg(tmp_path):
    ink = Image.fromarray(scene()).convert("CMYK")
    picture = load_picture(save(tmp_path / "c.jpg", ink), cells=(4, 3))
    assert np.abs(picture.rgb.astype(int).mean((0, 1)) - scene().mean((0, 1))).max() < 3


def test_opacity_is_kept_and_colour_lies_on_white(tmp_path):
    rgba = np.dstack([scene(), np.full((90, 120), 255, np.uint8)])
    rgba[:, :60, 3] = 0
    picture = load_picture(save(tmp_path / "t.png", rgba))
    assert picture.opacity is not None
    assert picture.opacity.dtype == np.float32
    assert not picture.opacity.flags.writeable
    assert (picture.opacity[:, :60] == 0).all()
    assert (picture.opacity[:, 60:] == 1).all()
    assert (picture.rgb[:, :60] == 255).all()
    assert (picture.rgb[:, 60:] == scene()[:, 60:]).all()
    rgba[..., 3] = 255
    assert load_picture(save(tmp_path / "s.png", rgba)).opacity is None


def test_one_clear_palette_colour_is_opacity(tmp_path):
    image = Image.fromarray((scene()[..., 0] > 150).astype(np.uint8), "L").convert("P")
    picture = load_picture(save(tmp_path / "g.gif", image, transparency=0))
    assert picture.opacity is not None
    assert set(np.unique(picture.opacity)) == {0, 1}


def display_p3() -> bytes:
    """A version-2 matrix profile (ICC.1:2001-04) with the primaries of Display P3 and gamma 2.2."""
    import colour

    to_d50 = colour.adaptation.matrix_chromatic_adaptation_VonKries(
        [0.95047, 1.0, 1.08883], [0.9642, 1.0, 0.8249], "Bradford"
    )
    columns = (to_d50 @ colour.RGB_COLOURSPACES["Display P3"].matrix_RGB_to_XYZ).T

    def xyz(values) -> bytes:
        return b"XYZ \0\0\0\0" + b"".join(struct.pack(">i", round(v * 65536)) for v in values)

    curve = b"curv\0\0\0\0" + struct.pack(">IH", 1, round(2.2 * 256)) + b"\0\0"
    desc = b"desc\0\0\0\0" + struct.pack(">I", 3) + b"P3\0" + b"\0" * 79
    tags = {b"desc": desc, b"cprt": b"text\0\0\0\0none\0\0\0\0", b"wtpt": xyz([0.9642, 1, 0.8249])}
    tags |= dict(zip((b"rXYZ", b"gXYZ", b"bXYZ"), map(xyz, columns), strict=True))
    tags |= dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve)
    at, table, body = 128 + 4 + 12 * len(tags), b"", b""
    for sign, data in tags.items():
        data += b"\0" * (-len(data) % 4)
        table += sign + struct.pack(">II", at + len(body), len(data))
        body += data
    head = struct.pack(">I4sI4s4s4s12s4s", at + len(body), b"\0\0\0\0", 0x02100000, b"mntr", b"RGB ",
                       b"XYZ ", b"\0" * 12, b"acsp")  # fmt: skip
    head += b"\0" * 28 + xyz([0.9642, 1, 0.8249])[8:] + b"\0" * 48
    return head + struct.pack(">I", len(tags)) + table + body


def test_an_embedded_profile_is_converted_to_srgb(tmp_path):
    import colour

    patches = np.array([[200, 90, 60], [90, 150, 80], [60, 80, 160], [128, 128, 128]], np.uint8)
    rgb = np.repeat(np.repeat(patches[None], 16, axis=0), 16, axis=1)
    linear = (patches / 255) ** (round(2.2 * 256) / 256)
    spaces = colour.RGB_COLOURSPACES
    matrix = colour.matrix_RGB_to_RGB(spaces["Display P3"], spaces["sRGB"])
    expected = 255 * colour.cctf_encoding(np.clip(linear @ matrix.T, 0, 1), function="sRGB")
    for suffix in ("png", "tif", "webp"):
        path = save(tmp_path / f"p3.{suffix}", rgb, icc_profile=display_p3())
        found = load_picture(path).rgb[8, 8::16]
        assert np.abs(found - expected).max() <= 2
        assert np.abs(found.astype(int) - patches).max() > 8  # the profile was not ignored


def test_a_broken_or_misfit_profile_is_ignored(tmp_path):
    for profile in (b"no profile at all", display_p3()[:200]):
        picture = load_picture(save(tmp_path / "a.png", scene(), icc_profile=profile))
        assert (picture.rgb == scene()).all()
    grey = Image.fromarray(scene()).convert("L")
    assert load_picture(save(tmp_path / "g.png", grey, icc_profile=display_p3())).size == (120, 90)


def test_a_lab_tiff_comes_out_in_srgb(tmp_path):
    from PIL import ImageCms

    srgb, lab = ImageCms.createProfile("sRGB"), ImageCms.createProfile("LAB")
    image = ImageCms.profileToProfile(Image.fromarray(scene()), srgb, lab, outputMode="LAB")
    found = load_picture(save(tmp_path / "lab.tif", image), cells=(5, 5)).rgb
    exact = scene().reshape(45, 2, 60, 2, 3).mean(axis=(1, 3))
    assert found.shape == exact.shape
    assert np.abs(found - exact).mean() < 3


def png_header(width: int, height: int) -> bytes:
    def chunk(sign: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + sign + data + struct.pack(">I", zlib.crc32(sign + data))
        )

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 99))


@pytest.mark.parametrize("size", [(60_000, 60_000), (12_500, 10_000), (2**31 - 1, 1)])
def test_a_bomb_is_refused_from_its_header(tmp_path, size):
    path = tmp_path / "bomb.png"
    path.write_bytes(png_header(*size))
    with pytest.raises(InputError, match="million pixels"):
        load_picture(path)


@pytest.mark.filterwarnings("error")
def test_a_large_picture_below_the_limit_passes_without_a_warning(tmp_path):
    path = tmp_path / "large.png"
    path.write_bytes(png_header(10_000, 9_500))
    with pytest.raises(InputError, match="cut short"):  # past the size check, into the data
        load_picture(path)


@pytest.mark.parametrize("suffix", [*FORMATS, "heic"])
@pytest.mark.parametrize("share", [0.05, 0.5, 0.9])
def test_a_truncated_picture_is_one_clear_error(tmp_path, suffix, share):
    noise = np.random.default_rng(1).integers(0, 256, (90, 120, 3), dtype=np.uint8)
    path = tmp_path / f"a.{suffix}"
    whole = HEIC / "noise.heic" if suffix == "heic" else save(path, noise)
    data = whole.read_bytes()
    path.write_bytes(data[: int(len(data) * share)])
    with pytest.raises(InputError) as caught:
        load_picture(path)
    assert "\n" not in str(caught.value)
    assert path.name in str(caught.value)


def test_what_is_no_picture_is_one_clear_error(tmp_path):
    text = tmp_path / "list.jpg"
    text.write_text("oat, ink, rust")
    empty = tmp_path / "empty.png"
    empty.touch()
    eps = tmp_path / "a.eps"
    Image.fromarray(scene()).save(eps)
    for path, words in (
        (text, "is not a JPEG"),
        (empty, "is not a JPEG"),
        (eps, "is not a JPEG"),  # a decoder that is not on the list
        (tmp_path, "is a directory"),
        (tmp_path / "gone.jpg", "no such file"),
    ):
        with pytest.raises(InputError, match=words):
            load_picture(path)


def test_a_file_over_the_limit_is_refused(tmp_path):
    path = tmp_path / "huge.png"
    with path.open("wb") as file:
        os.truncate(file.fileno(), 200_000_001)
    with pytest.raises(InputError, match="200 MB"):
        load_picture(path)


def test_a_crop_outside_says_the_size(tmp_path):
    path = save(tmp_path / "a.png", scene())
    with pytest.raises(InputError, match="120 pixels wide and 90 high"):
        load_picture(path, crop=Box(100, 0, 21, 10))
    assert load_picture(path, crop=Box(119, 89, 1, 1)).rgb.shape == (1, 1, 3)


def _samples() -> list[bytes]:
    out = []
    for options in FORMATS.values():
        buffer = io.BytesIO()
        Image.fromarray(scene(24, 16)).save(buffer, **options)
        out.append(buffer.getvalue())
    return out


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.sampled_from(_samples()), st.lists(st.tuples(st.integers(0, 10_000), st.binary(max_size=3)))
)
def test_damaged_bytes_load_or_fail_clearly(tmp_path, sample, edits):
    data = bytearray(sample)
    for place, new in edits:
        place %= len(data)
        data[place : place + len(new)] = new
    path = tmp_path / "damaged.bin"
    path.write_bytes(bytes(data))
    try:
        picture = load_picture(path, cells=(4, 3))
    except InputError:  # the only error there may be
        return
    assert picture.rgb.dtype == np.uint8
    assert picture.rgb.ndim == 3


@given(st.tuples(*[st.integers(0, 9_999_999)] * 2, *[st.integers(1, 9_999_999)] * 2))
def test_a_box_reads_back_what_it_writes(numbers):
    box = Box(*numbers)
    assert Box.parse(str(box)) == box
    assert Box.parse(" " + " , ".join(map(str, numbers)) + " ") == box


@given(st.text(max_size=30))
def test_box_text_is_four_numbers_or_an_error(text):
    try:
        box = Box.parse(text)
    except SettingError:
        return
    assert [int(part) for part in text.split(",")] == [box.x, box.y, box.w, box.h]


@pytest.mark.parametrize(
    "text", ["1,2,3", "0,0,0,5", "-1,0,5,5", "1.5,0,5,5", "1,2,3,4,5", "٣,1,1,1"]
)
def test_a_bad_box_is_refused(text):
    with pytest.raises(SettingError):
        Box.parse(text)


PEAK = """
import sys
from pathlib import Path
from pic2chart.model.gauge import Gauge
from pic2chart.picture.grid import make_grid
from pic2chart.picture.decode import load_picture
make_grid(load_picture(Path(sys.argv[1]), cells=(60, 64)), Gauge(), 60, 64)
heavy = {"scipy", "skimage", "sklearn"} & set(sys.modules)
peak = next(s for s in Path("/proc/self/status").read_text().splitlines() if "VmHWM" in s)
print(int(peak.split()[1]) // 1024, sorted(heavy))
"""


@pytest.mark.slow
@pytest.mark.parametrize("name", ["large.jpg", "large.png"])
def test_24_megapixels_stay_under_400_megabytes(tmp_path, name):
    rgb = Image.fromarray(scene()).resize((6000, 4000))
    if name.endswith("png"):
        rgb.putalpha(200)
        save(tmp_path / name, rgb, compress_level=1)
    else:
        save(tmp_path / name, rgb)
    run = [sys.executable, "-c", PEAK, str(tmp_path / name)]
    peak, heavy = subprocess.run(run, capture_output=True, text=True, check=True).stdout.split()
    assert int(peak) < 300
    assert heavy == "[]"


def test_a_webp_of_more_pixels_than_can_be_held_is_refused_before_it_is_decoded(tmp_path):
    width, height = 10_000, 5_001
    bits = (width - 1) | (height - 1) << 14
    body = b"\x2f" + bits.to_bytes(4, "little") + bytes(20)
    chunk = b"VP8L" + len(body).to_bytes(4, "little") + body + bytes(len(body) % 2)
    riff = b"RIFF" + (4 + len(chunk)).to_bytes(4, "little") + b"WEBP" + chunk
    path = tmp_path / "large.webp"
    path.write_bytes(riff)
    with pytest.raises(InputError, match="50 million"):
        load_picture(path)


def test_a_line_of_a_hundred_million_pixels_is_refused(tmp_path):
    path = tmp_path / "line.png"
    path.write_bytes(png_header(1, 65_501))
    with pytest.raises(InputError, match="65500"):
        load_picture(path)


def test_a_jpeg_of_hundreds_of_scans_is_refused_and_a_usual_one_read(tmp_path):
    path = tmp_path / "scans.jpg"
    save(path, np.full((2000, 3000, 3), 90, np.uint8), progressive=True)
    data = path.read_bytes()
    assert load_picture(path, across=300).size == (3000, 2000)
    last = data[data.rindex(b"\xff\xda") : -2]
    path.write_bytes(data[:-2] + 700 * last + data[-2:])
    with pytest.raises(InputError, match="scans"):
        load_picture(path, across=300)
