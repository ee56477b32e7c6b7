import pickle
from pathlib import Path

import pytest

from photolog.photos import kinds
from photolog.photos.kinds import PhotoError, sniff
from tests.photos.written import ENDINGS, KINDS, write


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_is_told_from_its_bytes(tmp_path, kind):
    assert sniff(write(tmp_path, kind)) == kind


@pytest.mark.parametrize("kind", KINDS)
def test_a_wrong_name_does_not_matter(tmp_path, kind):
    path = write(tmp_path, kind)
    wrong = path.rename(path.with_suffix(".jpg" if kind != "jpeg" else ".png"))
    assert sniff(wrong) == kind


@pytest.mark.parametrize(
    ("name", "content", "says"),
    [
        ("a.jpg", b"", "The file is empty"),
        ("a.jpg", b"Dear Imke, here are the photos", "named like a JPEG photo but holds text"),
        ("a.heic", b"\0\0\0\x18ftypqt  \0\0\0\0qt  ", "named like a HEIC photo but holds a film"),
        ("a.png", b"%PDF-1.7", "named like a PNG photo but holds a PDF document"),
        ("notes.txt", b"lifted today", "The file is no photo: it holds text"),
        ("a.gif", b"GIF89a....", "The file is no photo: it holds a GIF picture"),
        ("a.jpg", bytes(4096), "nothing but zeros"),
        ("a.dng", b"II*\0\x08\0\0\0", "a camera's raw file"),
        ("a.bin", b"\x93\x8f\x11\x12\xff\xfe", "holds something unknown"),
    ],
)
def test_what_is_no_photo_is_said(tmp_path, name, content, says):
    path = tmp_path / name
    path.write_bytes(content)
    with pytest.raises(PhotoError, match=says):
        sniff(path)


def test_missing_file_and_folder(tmp_path):
    with pytest.raises(PhotoError, match="There is no such file"):
        sniff(tmp_path / "gone.jpg")
    with pytest.raises(PhotoError, match="This is a folder"):
        sniff(tmp_path)


def test_photo_error_travels_between_processes():
    error = pickle.loads(pickle.dumps(PhotoError("It is empty.", "Copy it again.")))
    assert (error.reason, error.remedy) == ("It is empty.", "Copy it again.")


def test_every_kind_has_an_ending_of_its_own():
    assert kinds.EXTENSIONS == ENDINGS
    assert kinds.looks_like_photo(Path("LF350101.JPG"))
    assert not kinds.looks_like_photo(Path("truth.csv"))
