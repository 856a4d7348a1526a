"""Photographs are re-encoded; what is no picture, or a hostile one, is refused in a sentence."""

import io
import struct
import zlib
from pathlib import Path

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from jobs.assessment import services
from jobs.assessment.models import Photograph
from tests.factories import MOMENT, make_instrument, make_technician
from workshop.web.errors import Refused

pytestmark = pytest.mark.django_db
SCRIPT = b"<script>alert(1)</script>"


@pytest.fixture(autouse=True)
def own_folder(settings, tmp_path):
    settings.MEDIA_ROOT = tmp_path


def encoded(image, kind="JPEG", **more):
    out = io.BytesIO()
    image.save(out, kind, **more)
    return out.getvalue()


def keep(data, name="piano.jpg", **more):
    upload = SimpleUploadedFile(name, data, content_type="image/jpeg")
    return services.photograph_keep(
        instrument=make_instrument(), upload=upload, caption="The fall", by=make_technician(), at=MOMENT, **more
    )


def picture(width=64, height=48):
    image = Image.new("RGB", (width, height), "white")
    image.paste((200, 30, 30), (0, 0, width // 2, height // 2))
    return image


def gps_exif():
    exif = Image.Exif()
    exif[0x0112] = 6  # turn a quarter clockwise to stand upright
    exif[0x010F] = "Camera of somebody"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    return exif


def png_of(width, height):
    """A PNG that says it is very large; its data are nothing to speak of."""

    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", zlib.compress(b"\0" * 1000)) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_pictures_of_telephones_become_jpeg_with_a_random_name(kind):
    photograph = keep(encoded(picture(), kind), name="../../etc/Grandmother's piano.php")
    assert photograph.image.name.startswith("instruments/")
    assert photograph.image.name.endswith(".jpg")
    assert "piano" not in photograph.image.name
    with Image.open(photograph.image.path) as kept:
        assert (kept.format, kept.size) == ("JPEG", (64, 48))


def test_a_turned_picture_stands_upright_and_place_and_camera_are_gone():
    data = encoded(picture(), exif=gps_exif())
    assert b"Camera of somebody" in data
    photograph = keep(data)
    kept = Path(photograph.image.path).read_bytes()
    assert (photograph.width, photograph.height) == (48, 64)
    assert b"Camera of somebody" not in kept
    with Image.open(io.BytesIO(kept)) as image:
        assert not image.getexif()
        assert not {"exif", "icc_profile", "comment", "xmp"} & set(image.info)
        red, green, _ = image.getpixel((40, 8))  # the red corner has gone to the right
        assert red > 150 > green


def test_a_large_picture_is_made_smaller():
    photograph = keep(encoded(picture(3000, 1500)))
    assert (photograph.width, photograph.height) == (2400, 1200)


def test_a_transparent_picture_gets_a_white_ground():
    photograph = keep(encoded(Image.new("RGBA", (8, 8), (0, 0, 0, 0)), "PNG"))
    with Image.open(photograph.image.path) as kept:
        assert min(kept.getpixel((4, 4))) > 250


def test_markup_hidden_in_a_picture_does_not_survive():
    data = encoded(picture(), comment=SCRIPT)
    data = data + b"<html>" + SCRIPT
    assert SCRIPT in data
    assert SCRIPT not in Path(keep(data).image.path).read_bytes()


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("drawing.svg", b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>'),
        ("page.jpg", b"<html>" + SCRIPT),
        ("animation.gif", encoded(picture().convert("P"), "GIF")),
        ("scan.tiff", encoded(picture(), "TIFF")),
        ("scan.bmp", encoded(picture(), "BMP")),
        ("paper.jpg", b"%PDF-1.7\n%\xe2\xe3\n"),
        ("print.jpg", b"%!PS-Adobe-3.0 EPSF-3.0\n%%BoundingBox: 0 0 10 10\n"),
        ("start.jpg", b"\xff\xd8\xff\xe0"),
        ("noise.jpg", bytes(range(256)) * 20),
    ],
)
def test_what_is_no_photograph_is_refused(name, data):
    with pytest.raises(Refused, match="JPEG, PNG or WebP"):
        keep(data, name)
    assert not Photograph.objects.exists()


def test_a_picture_cut_short_is_refused():
    data = encoded(picture(400, 300))
    with pytest.raises(Refused, match="damaged or cut short"):
        keep(data[: len(data) // 2])


def test_a_damaged_png_is_refused():
    data = bytearray(encoded(picture(), "PNG"))
    data[60] ^= 0xFF
    with pytest.raises(Refused, match="damaged or cut short"):
        keep(bytes(data))


@pytest.mark.parametrize(("width", "height"), [(9_000, 9_000), (12_000, 12_000), (60_000, 60_000)])
def test_a_picture_that_unfolds_to_too_many_pixels_is_refused_before_it_does(width, height):
    with pytest.raises(Refused, match="the most is 60 million"):
        keep(png_of(width, height), "bomb.png")


def test_a_file_of_too_many_bytes_is_refused(settings):
    settings.PHOTOGRAPH_MAX_BYTES = 1024 * 1024
    with pytest.raises(Refused, match="has 3 MB; the most is 1 MB"):
        keep(encoded(picture()) + b"\0" * 3 * 1024 * 1024)


def test_an_empty_file_is_refused():
    with pytest.raises(Refused, match="empty"):
        keep(b"")


def test_a_caption_that_is_too_long_leaves_no_file_behind(tmp_path):
    upload = SimpleUploadedFile("a.jpg", encoded(picture()))
    with pytest.raises(Refused, match="[Cc]aption"):
        services.photograph_keep(
            instrument=make_instrument(), upload=upload, caption="x" * 300, by=make_technician(), at=MOMENT
        )
    assert not [path for path in tmp_path.rglob("*") if path.is_file()]
