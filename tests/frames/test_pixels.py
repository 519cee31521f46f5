"""Pixels: upright, whole and in sRGB, or one sentence; compared with other decoders and with what was drawn."""

import io
import sys
import warnings
from dataclasses import replace

import cv2
import numpy as np
import pytest
import simplejpeg
from PIL import Image, ImageCms, ImageOps

from stillwing.errors import OutsideModel, UnreadableFrame
from stillwing.frames.frame import Frame, Tags
from stillwing.frames.measured import Box
from stillwing.frames.pixels import decode_luma, decode_preview_luma, decode_region_rgb, picture_rgb
from stillwing.frames.tags import read_tags

from .made_files import (
    ASCII,
    DATA,
    LONG,
    SHORT,
    dng,
    drawn_rgb,
    fingerprint,
    jpeg,
    needs_data,
    pillow_jpeg,
    png,
    with_previews,
    write_jpeg,
)

JPEGS = [f"exif/0{i}.jpg" for i in range(1, 9)] + ["bursts/018/frame_0152.jpg", "stills/dragonfly.jpg"]


def frame(path):
    return Frame((path,), read_tags(path))


def difference(one, other):
    assert one.shape == other.shape
    return np.abs(one.astype(int) - other.astype(int))


@needs_data
@pytest.mark.parametrize("name", JPEGS)
def test_luma_is_the_one_that_another_decoder_gives(name):
    luma = decode_luma(DATA / name)
    other = cv2.imread(str(DATA / name), cv2.IMREAD_GRAYSCALE)  # honours orientation by default
    assert luma.dtype == np.uint8 and luma.flags.c_contiguous
    assert difference(luma, other).max() <= 1


@needs_data
@pytest.mark.parametrize("kind", ["landscape", "portrait"])
@pytest.mark.parametrize("orientation", range(1, 9))
def test_all_eight_orientations_show_the_same_upright_picture(kind, orientation):
    # The eight files differ in the numeral drawn over them and in sharpening, so they are compared coarsely.
    def coarse(rgb):
        return cv2.resize(
            rgb.astype(np.float32), (60, 45) if kind == "landscape" else (45, 60), interpolation=cv2.INTER_AREA
        )

    path, first = DATA / f"orientation/{kind}_{orientation}.jpg", DATA / f"orientation/{kind}_1.jpg"
    luma, expected = decode_luma(path), decode_luma(first)
    assert read_tags(path).orientation == orientation
    assert luma.shape == expected.shape == ((450, 600) if kind == "landscape" else (600, 450))
    alike = np.corrcoef(coarse(luma).ravel(), coarse(expected).ravel())[0, 1]
    assert alike > 0.95
    for wrong in (luma[::-1], luma[:, ::-1], luma[::-1, ::-1]):
        assert np.corrcoef(coarse(wrong).ravel(), coarse(expected).ravel())[0, 1] < alike - 0.2

    # Every other door turns the picture alike, and another library's turning agrees.
    with Image.open(path) as image:
        other = ImageOps.exif_transpose(image).convert("RGB")
        if "icc_profile" in image.info:  # seven of the eight carry that of a screen
            source = ImageCms.ImageCmsProfile(io.BytesIO(image.info["icc_profile"]))
            other = ImageCms.profileToProfile(other, source, ImageCms.createProfile("sRGB"))
    rgb = np.asarray(other)
    assert difference(picture_rgb(path, 600), rgb).mean() < 1
    assert difference(decode_region_rgb(path, Box(100, 50, 200, 150)), rgb[50:200, 100:300]).mean() < 1


def turned(rgb, orientation):
    """Return the stored picture that a camera writes with ``orientation`` (Exif 2.32, tag 0x0112), by NumPy alone."""
    return {
        1: rgb,
        2: rgb[:, ::-1],
        3: rgb[::-1, ::-1],
        4: rgb[::-1],
        5: rgb.swapaxes(0, 1),
        6: np.rot90(rgb, 1),
        7: rgb[::-1, ::-1].swapaxes(0, 1),
        8: np.rot90(rgb, -1),
    }[orientation]


@pytest.mark.parametrize("orientation", range(1, 9))
def test_every_door_honours_orientation(tmp_path, orientation):
    rgb = drawn_rgb(480, 720)
    small = cv2.resize(rgb, (360, 240), interpolation=cv2.INTER_AREA)
    data = with_previews(jpeg(turned(rgb, orientation)), [jpeg(turned(small, orientation))])
    path = write_jpeg(tmp_path / "a.jpg", {"Image.Orientation": (SHORT, str(orientation))}, data=data)
    grey = cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)
    assert difference(decode_luma(path), grey).mean() < 2
    assert difference(picture_rgb(path, 720), rgb).mean() < 2
    assert difference(decode_region_rgb(path, Box(500, 30, 90, 60)), rgb[30:90, 500:590]).mean() < 3
    assert picture_rgb(path, 90).shape == (60, 90, 3)


@pytest.mark.parametrize("orientation", range(1, 9))
def test_previews_are_upright(tmp_path, orientation):
    rgb = drawn_rgb(960, 1440)
    small = cv2.resize(rgb, (480, 320), interpolation=cv2.INTER_AREA)
    # The tags first: libexiv2 rewrites the file, and the index counts from its own place.
    path = write_jpeg(
        tmp_path / "a.jpg", {"Image.Orientation": (SHORT, str(orientation))}, rgb=turned(rgb, orientation)
    )
    path.write_bytes(with_previews(path.read_bytes(), [jpeg(turned(small, orientation))]))
    preview = decode_preview_luma(frame(path))
    assert difference(preview, cv2.cvtColor(small, cv2.COLOR_RGB2GRAY)).mean() < 2


def preview_file(path, previews, codes=None, rgb=None):
    main = jpeg(drawn_rgb(960, 1440) if rgb is None else rgb)
    path.write_bytes(with_previews(main, previews, codes or (0x010001,) * len(previews)))
    return frame(path)


def sized(width, height, seed=0):
    return jpeg(drawn_rgb(height, width, seed))


def test_the_largest_preview_is_taken(tmp_path):
    with_two = preview_file(tmp_path / "a.jpg", [sized(480, 320), sized(720, 480)])
    assert decode_preview_luma(with_two).shape == (480, 720)


def test_a_thumbnail_below_300_px_is_no_preview(tmp_path):
    assert decode_preview_luma(preview_file(tmp_path / "a.jpg", [sized(160, 107)])) is None
    assert decode_preview_luma(preview_file(tmp_path / "b.jpg", [sized(300, 200)])).shape == (200, 300)


def test_a_second_picture_is_no_preview(tmp_path):
    assert decode_preview_luma(preview_file(tmp_path / "a.jpg", [sized(1440, 960)])) is None
    depth_map = preview_file(tmp_path / "b.jpg", [sized(480, 320)], codes=(0x020002,))
    assert decode_preview_luma(depth_map) is None


def test_black_bars_of_a_preview_are_cut_off(tmp_path):
    barred = np.zeros((480, 640, 3), np.uint8)
    barred[27:453] = cv2.resize(drawn_rgb(960, 1440), (640, 426), interpolation=cv2.INTER_AREA)
    with_bars = decode_preview_luma(preview_file(tmp_path / "a.jpg", [jpeg(barred)]))
    assert with_bars.shape == (426, 640)
    assert difference(with_bars, cv2.cvtColor(barred[27:453], cv2.COLOR_RGB2GRAY)).mean() < 2


def test_the_preview_of_a_picture_before_it_was_cut_is_not_believed(tmp_path):
    assert decode_preview_luma(preview_file(tmp_path / "a.jpg", [sized(480, 480)])) is None


@needs_data
def test_a_real_cut_picture_with_an_old_preview_has_none():
    # 3064 x 2379, cut by software that left the camera's preview of 570 x 375.
    assert decode_preview_luma(frame(DATA / "exif/06.jpg")) is None


@needs_data
def test_a_preview_in_exif_shows_the_picture():
    luma = decode_luma(DATA / "exif/03.jpg")
    preview = decode_preview_luma(frame(DATA / "exif/03.jpg"))
    assert preview.shape == (288, 512)
    reduced = cv2.resize(luma, (512, 288), interpolation=cv2.INTER_AREA)
    # The camera cuts the preview a little differently at the left and right.
    assert (
        np.corrcoef(cv2.GaussianBlur(preview, (0, 0), 4).ravel(), cv2.GaussianBlur(reduced, (0, 0), 4).ravel())[0, 1]
        > 0.98
    )


def test_a_preview_named_in_a_maker_s_note_is_found(tmp_path):
    preview = sized(480, 320)
    exif = {
        "Image.Make": (ASCII, "OLYMPUS CORPORATION"),
        "OlympusCs.PreviewImageStart": (LONG, "1"),
        "OlympusCs.PreviewImageLength": (LONG, str(len(preview))),
    }
    path = write_jpeg(tmp_path / "a.jpg", exif, rgb=drawn_rgb(960, 1440))
    data = bytearray(path.read_bytes())
    tags_at = data.index(b"Exif\0\0") + 6
    note_at = tags_at + next(int(datum.toInt64(0)) for datum in exif_of(path) if datum.key() == "Exif.MakerNote.Offset")
    entry = data.index(b"\x01\x01\x04\x00\x01\x00\x00\x00")
    data[entry + 8 : entry + 12] = (len(data) - note_at).to_bytes(4, "little")
    path.write_bytes(bytes(data) + preview)
    assert difference(decode_preview_luma(frame(path)), decode_of(preview)).max() <= 1


def exif_of(path):
    import exiv2

    image = exiv2.ImageFactory.open(str(path))
    image.readMetadata()
    exif_of.kept = image  # the data live no longer than their image
    return image.exifData()


def decode_of(data):
    return simplejpeg.decode_jpeg(data, "GRAY")[..., 0]


def test_a_damaged_preview_is_none_and_the_picture_decodes(tmp_path):
    broken = preview_file(tmp_path / "a.jpg", [sized(480, 320)[:4000]])
    assert decode_preview_luma(broken) is None
    assert decode_luma(broken).shape == (960, 1440)


def test_a_preview_that_the_index_places_outside_the_file_is_none(tmp_path):
    path = tmp_path / "a.jpg"
    path.write_bytes(with_previews(jpeg(drawn_rgb(960, 1440)), [sized(480, 320)])[:-30000])
    assert decode_preview_luma(frame(path)) is None


@pytest.mark.parametrize("share", [0.1, 0.5, 0.61, 0.9, 0.99])
def test_a_cut_jpeg_says_how_much_of_the_picture_there_is(tmp_path, share):
    rng = np.random.default_rng(5)
    rgb = rng.integers(0, 255, (800, 1200, 3), dtype=np.uint8)  # even detail: bytes and rows run in step
    data = jpeg(rgb)
    path = tmp_path / "a.jpg"
    path.write_bytes(data[: int(len(data) * share)])
    for door in (
        decode_luma,
        lambda path: picture_rgb(path, 100),
        lambda path: decode_region_rgb(path, Box(0, 0, 9, 9)),
    ):
        with pytest.raises(UnreadableFrame, match="ends after") as failure:
            door(path)
        told = float(failure.value.reason.split(" %")[0].split()[-1])
        assert told == pytest.approx(100 * share, abs=3)
        assert "copy it from the card again" in failure.value.reason


@needs_data
def test_a_real_jpeg_cut_in_the_middle_is_refused(tmp_path):
    data = (DATA / "exif/08.jpg").read_bytes()
    path = tmp_path / "a.jpg"
    path.write_bytes(data[: len(data) // 2])
    with pytest.raises(UnreadableFrame, match="ends after 60 % of the picture"):
        decode_luma(path)


def test_a_cut_progressive_jpeg_is_refused(tmp_path):
    data = pillow_jpeg(Image.fromarray(drawn_rgb(480, 720)), progressive=True, quality=95)
    path = tmp_path / "a.jpg"
    path.write_bytes(data[: len(data) * 2 // 3])
    with pytest.raises(UnreadableFrame, match="progressive JPEG ends before its last scan"):
        decode_luma(path)


def test_an_end_marker_alone_may_be_missing(tmp_path):
    path = tmp_path / "a.jpg"
    path.write_bytes(jpeg()[:-2])
    assert difference(decode_luma(path), decode_of(jpeg())).max() == 0


@pytest.mark.parametrize("filling", [b"\0" * 40, b"\xff" * 7, b"\x20" * 3])
def test_filling_before_the_end_marker_costs_nothing(tmp_path, filling):
    path = tmp_path / "a.jpg"
    path.write_bytes(jpeg()[:-2] + filling + jpeg()[-2:])
    assert difference(decode_luma(path), decode_of(jpeg())).max() == 0


def test_bytes_lost_in_the_middle_are_noticed(tmp_path):
    data = jpeg(np.random.default_rng(2).integers(0, 255, (400, 600, 3), dtype=np.uint8))
    path = tmp_path / "a.jpg"
    path.write_bytes(data[: len(data) // 2] + data[len(data) // 2 + 5000 :])
    with pytest.raises(UnreadableFrame, match="copy it from the card again"):
        decode_luma(path)


def test_a_block_of_zeros_is_noticed(tmp_path):
    # What a failing card gives for a sector that it cannot read.
    data = bytearray(jpeg(np.random.default_rng(2).integers(0, 255, (400, 600, 3), dtype=np.uint8)))
    data[60000 : 60000 + 8192] = bytes(8192)
    path = tmp_path / "a.jpg"
    path.write_bytes(bytes(data))
    with pytest.raises(UnreadableFrame, match="copy it from the card again"):
        decode_luma(path)


@pytest.mark.parametrize(
    "options",
    [
        {"progressive": True},
        {"subsampling": 0},
        {"subsampling": 1},
        {"subsampling": 2},
        {"keep_rgb": True},
        {"optimize": True, "restart_marker_rows": 1},
    ],
)
def test_every_common_jpeg_decodes(tmp_path, options):
    rgb = drawn_rgb()
    path = tmp_path / "a.jpg"
    path.write_bytes(pillow_jpeg(Image.fromarray(rgb), quality=95, **options))
    assert difference(decode_luma(path), cv2.cvtColor(rgb, cv2.COLOR_RGB2GRAY)).mean() < 2
    assert difference(picture_rgb(path, 144), rgb).mean() < 3


def test_a_grey_jpeg_decodes(tmp_path):
    grey = drawn_rgb()[..., 1]
    path = tmp_path / "a.jpg"
    path.write_bytes(pillow_jpeg(Image.fromarray(grey), quality=95))
    assert difference(decode_luma(path), grey).mean() < 2
    assert difference(picture_rgb(path, 144), np.dstack([grey] * 3)).mean() < 2


def test_a_jpeg_in_inks_decodes(tmp_path):
    image = Image.fromarray(drawn_rgb()).convert("CMYK")
    path = tmp_path / "a.jpg"
    path.write_bytes(pillow_jpeg(image, quality=95))
    assert difference(decode_luma(path), cv2.cvtColor(drawn_rgb(), cv2.COLOR_RGB2GRAY)).mean() < 3
    assert difference(picture_rgb(path, 144), drawn_rgb()).mean() < 4


@pytest.mark.parametrize(("bits", "process"), [(12, 0xC1), (16, 0xC3), (8, 0xC3)])
def test_a_jpeg_of_another_kind_is_named(tmp_path, bits, process):
    data = bytearray(jpeg())
    at = data.index(b"\xff\xc0")
    data[at + 1], data[at + 4] = process, bits
    path = tmp_path / "a.jpg"
    path.write_bytes(bytes(data))
    with pytest.raises(UnreadableFrame, match=f"a {bits}-bit .*JPEG; only 8-bit lossy ones"):
        decode_luma(path)


@pytest.mark.parametrize(
    ("width", "height", "words"),
    [
        (60000, 60000, "more than the 400 megapixels"),
        (65500, 6000, "only .* bytes follow"),
        (0, 96, "claims 0 x 96 px"),
    ],
)
def test_absurd_dimensions_are_refused_by_the_header_alone(tmp_path, width, height, words):
    data = bytearray(jpeg())
    at = data.index(b"\xff\xc0")
    data[at + 5 : at + 9] = height.to_bytes(2, "big") + width.to_bytes(2, "big")
    path = tmp_path / "a.jpg"
    path.write_bytes(bytes(data))
    for door in (
        lambda path: decode_luma(Frame((path,), Tags())),
        lambda path: picture_rgb(Frame((path,), Tags()), 200),
    ):
        with pytest.raises(UnreadableFrame, match=words):
            door(path)


def test_a_png_of_absurd_size_is_refused_by_its_header(tmp_path):
    import struct
    import zlib

    body = struct.pack(">IIBBBBB", 60000, 60000, 8, 2, 0, 0, 0)
    chunk = struct.pack(">I", 13) + b"IHDR" + body + struct.pack(">I", zlib.crc32(b"IHDR" + body))
    path = tmp_path / "a.png"
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + chunk + png()[33:])
    with pytest.raises(UnreadableFrame, match="more than the 400 megapixels"):
        decode_luma(Frame((path,), Tags()))


def test_a_region_is_the_same_as_the_whole_picture_there(tmp_path):
    path = write_jpeg(tmp_path / "a.jpg", rgb=drawn_rgb(480, 720))
    whole = picture_rgb(path, 720)
    assert difference(decode_region_rgb(path, Box(100.4, 49.6, 30, 20)), whole[50:70, 100:130]).max() == 0


def test_a_region_beyond_the_edge_is_cut_there(tmp_path):
    path = write_jpeg(tmp_path / "a.jpg", rgb=drawn_rgb(480, 720))
    assert decode_region_rgb(path, Box(-10, 470, 30, 40)).shape == (10, 20, 3)
    with pytest.raises(OutsideModel):
        decode_region_rgb(path, Box(720, 0, 10, 10))
    with pytest.raises(OutsideModel):
        decode_region_rgb(path, Box(0, 0, 10, 0.2))


def test_a_picture_is_reduced_but_never_enlarged(tmp_path):
    path = write_jpeg(tmp_path / "a.jpg", rgb=drawn_rgb(480, 720))
    assert picture_rgb(path, 100).shape == (67, 100, 3)
    assert picture_rgb(path, 719).shape == (479, 719, 3)
    assert picture_rgb(path, 5000).shape == (480, 720, 3)
    assert (
        difference(
            picture_rgb(path, 180), cv2.resize(picture_rgb(path, 720), (180, 120), interpolation=cv2.INTER_AREA)
        ).mean()
        < 1.5
    )
    with pytest.raises(OutsideModel):
        picture_rgb(path, 0)


def wide_gamut_profile():
    """Return a profile with the primaries of sRGB turned round: red is green, green is blue, blue is red."""
    profile = bytearray(ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes())
    count = int.from_bytes(profile[128:132], "big")
    entries = {profile[132 + 12 * i : 136 + 12 * i].decode(): 132 + 12 * i for i in range(count)}
    places = {name: bytes(profile[entries[name] + 4 : entries[name] + 12]) for name in ("rXYZ", "gXYZ", "bXYZ")}
    for name, source in (("rXYZ", "gXYZ"), ("gXYZ", "bXYZ"), ("bXYZ", "rXYZ")):
        profile[entries[name] + 4 : entries[name] + 12] = places[source]
    return bytes(profile)


@pytest.mark.parametrize("writer", ["jpeg", "png"])
def test_colours_are_turned_into_srgb(tmp_path, writer):
    rgb = drawn_rgb()
    buffer = io.BytesIO()
    Image.fromarray(rgb).save(
        buffer, writer, icc_profile=wide_gamut_profile(), **({"quality": 97} if writer == "jpeg" else {})
    )
    path = tmp_path / ("a.jpg" if writer == "jpeg" else "a.png")
    path.write_bytes(buffer.getvalue())
    expected = rgb[..., [2, 0, 1]]  # what is red in that profile is green in sRGB
    assert difference(picture_rgb(path, 144), expected).mean() < 3
    assert difference(decode_region_rgb(path, Box(20, 30, 40, 50)), expected[30:80, 20:60]).mean() < 3


def test_a_broken_profile_is_passed_over(tmp_path):
    path = tmp_path / "a.jpg"
    path.write_bytes(pillow_jpeg(Image.fromarray(drawn_rgb()), icc_profile=b"no profile at all" * 20))
    assert difference(picture_rgb(path, 144), drawn_rgb()).mean() < 3


@needs_data
def test_an_empty_profile_in_a_real_file_is_passed_over():
    assert picture_rgb(DATA / "heif/empty_icc.heic", 200).shape == (176, 200, 3)


@pytest.mark.parametrize("mode", ["RGB", "L", "RGBA", "P", "1", "I;16"])
def test_a_png_decodes(tmp_path, mode):
    grey = cv2.cvtColor(drawn_rgb(), cv2.COLOR_RGB2GRAY)
    if mode == "I;16":
        image = Image.fromarray(grey.astype(np.uint16) * 257)
    else:
        image = Image.fromarray(drawn_rgb()).convert(mode)
    path = tmp_path / "a.png"
    image.save(path)
    luma = decode_luma(path)
    assert luma.shape == grey.shape and luma.dtype == np.uint8
    assert difference(luma, grey).mean() < {"1": 130, "P": 20}.get(mode, 2)
    assert picture_rgb(path, 72).shape == (48, 72, 3)


def test_a_cut_png_is_refused(tmp_path):
    path = tmp_path / "a.png"
    path.write_bytes(png()[:-2000])
    with pytest.raises(UnreadableFrame, match="PNG is damaged or cut short"):
        decode_luma(Frame((path,), Tags()))


@pytest.fixture
def mosaic():
    """Sensor data of the drawn picture, RGGB, linear."""
    linear = (np.float64(drawn_rgb(480, 720)) / 255) ** 2.2 * 60000
    sensor = np.empty((480, 720), np.uint16)
    for row, col, channel in ((0, 0, 0), (0, 1, 1), (1, 0, 1), (1, 1, 2)):
        sensor[row::2, col::2] = linear[row::2, col::2, channel]
    return sensor


@pytest.mark.parametrize("orientation", [1, 3, 6, 8])
def test_a_raw_file_is_developed_upright(tmp_path, mosaic, orientation):
    path = tmp_path / "a.dng"
    path.write_bytes(dng(mosaic, orientation=orientation))
    luma = decode_luma(path)
    straight = tmp_path / "b.dng"
    straight.write_bytes(dng(mosaic))
    stored = decode_luma(straight)
    assert stored.shape == (480, 720)
    assert np.corrcoef(stored.ravel(), cv2.cvtColor(drawn_rgb(480, 720), cv2.COLOR_RGB2GRAY).ravel())[0, 1] > 0.9
    assert difference(turned(luma, orientation), stored).max() == 0


def test_a_full_size_preview_in_a_raw_file_is_its_picture(tmp_path, mosaic):
    path = tmp_path / "a.dng"
    path.write_bytes(dng(mosaic, jpeg(drawn_rgb(480, 720, seed=7))))
    assert difference(decode_luma(path), cv2.cvtColor(drawn_rgb(480, 720, seed=7), cv2.COLOR_RGB2GRAY)).mean() < 2
    assert decode_preview_luma(frame(path)) is None  # there is no smaller one


def test_a_small_preview_in_a_raw_file_is_a_first_look_only(tmp_path, mosaic):
    path = tmp_path / "a.dng"
    path.write_bytes(dng(mosaic, sized(420, 280, seed=7), orientation=6))
    assert decode_luma(path).shape == (720, 480)
    assert decode_preview_luma(frame(path)).shape == (420, 280)


def test_a_raw_file_cut_short_is_refused_in_silence(tmp_path, mosaic, capfd):
    path = tmp_path / "a.dng"
    path.write_bytes(dng(mosaic)[:500_000])
    whole = frame(path)
    assert whole.tags.camera == "Drawn camera"
    with pytest.raises(UnreadableFrame, match="RAW file is damaged or cut short"):
        decode_luma(whole)
    assert capfd.readouterr() == ("", "")


def test_a_raw_file_of_no_known_kind_is_refused(tmp_path):
    path = tmp_path / "a.orf"
    path.write_bytes(b"IIRO\x08\0\0\0" + np.random.default_rng(3).bytes(5000))
    with pytest.raises(UnreadableFrame, match=r"LibRaw does not know|damaged or cut short"):
        decode_luma(Frame((path,), Tags()))


@needs_data
@pytest.mark.parametrize("name", ["RGB_8__128x128.heif", "RGB_10__128x128.heif", "zPug_3.heic", "L_exif_xmp_iptc.heic"])
def test_heif_decodes_as_the_library_shows_it(name):
    pillow_heif = pytest.importorskip("pillow_heif", reason="the optional extra for HEIF is not installed")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        image = pillow_heif.open_heif(DATA / "heif" / name).to_pillow().convert("RGB")
    assert difference(picture_rgb(DATA / "heif" / name, 5000), np.asarray(image)).max() <= 1
    assert decode_luma(DATA / "heif" / name).shape == (image.height, image.width)


@needs_data
def test_heif_without_its_library_says_what_to_install(monkeypatch):
    monkeypatch.setattr(sys.modules["stillwing.frames.heif"], "IS_INSTALLED", False)
    with pytest.raises(UnreadableFrame, match=r"pip install 'stillwing\[heif\]'"):
        decode_luma(DATA / "heif/RGB_8__128x128.heif")
    assert read_tags(DATA / "heif/RGB_8__128x128.heif").width_px == 128


@needs_data
def test_a_jpeg_with_another_ending_still_has_its_pixels():
    # The four "PNG" files of a focus series, and two "NEF" files, are JPEGs inside.
    assert decode_luma(DATA / "focus/arachnid/01.png").shape == (1944, 2592)
    assert decode_luma(DATA / "exif/09.nef").shape == (3008, 2000)


def test_a_frame_s_own_orientation_counts(tmp_path):
    path = write_jpeg(tmp_path / "a.jpg")
    sideways = Frame((path,), replace(read_tags(path), orientation=6))
    assert decode_luma(sideways).shape == (144, 96)


def test_files_are_left_as_they_were(tmp_path, mosaic):
    for path in (tmp_path / "a.jpg", tmp_path / "b.dng", tmp_path / "c.png"):
        path.write_bytes(
            {".jpg": with_previews(jpeg(drawn_rgb(960, 1440)), [sized(480, 320)]), ".dng": dng(mosaic), ".png": png()}[
                path.suffix
            ]
        )
    before = fingerprint(tmp_path)
    for path in before:
        path.chmod(0o444)
        decode_luma(path)
        decode_preview_luma(frame(path))
        decode_region_rgb(path, Box(0, 0, 20, 20))
        picture_rgb(path, 50)
    assert fingerprint(tmp_path) == before
