"""README.md shows the site as it is: every picture is there, small, told in words, and can be taken anew."""

import re
from base64 import b64encode
from io import StringIO

import pytest
from django.core.management import call_command
from playwright.sync_api import Page

from tests.pictures import FOLDER, PICTURES, ROOT, WIDE, take

README = (ROOT / "README.md").read_text(encoding="utf-8")
MOST_BYTES = 600 * 1024
FEWEST_WORDS = 8
SIZE = """async (picture) => {
    const image = new Image();
    image.src = `data:image/webp;base64,${picture}`;
    await image.decode();
    return [image.naturalWidth, image.naturalHeight];
}"""


def size(page: Page, picture: bytes) -> tuple[int, int]:
    """Width and height as a browser that decodes the picture finds them."""
    width, height = page.evaluate(SIZE, b64encode(picture).decode())
    return width, height


def test_the_readme_shows_every_picture_and_says_in_words_what_is_to_be_seen():
    shown = dict(re.findall(r'<img src="([^"]+)"[^>]* alt="([^"]*)"', README))
    assert set(shown) == {str(picture.path.relative_to(ROOT)) for picture in PICTURES}
    assert [path for path, words in shown.items() if len(words.split()) < FEWEST_WORDS] == []


def test_the_folder_holds_the_pictures_alone_and_all_together_are_small():
    assert {path.name for path in FOLDER.iterdir()} == {picture.path.name for picture in PICTURES}
    assert sum(picture.path.stat().st_size for picture in PICTURES) <= MOST_BYTES


@pytest.mark.django_db(transaction=True)
def test_every_picture_can_be_taken_anew_and_is_as_wide_as_the_one_that_is_kept(device):
    call_command("demo", stdout=StringIO())
    blank = device().page
    for picture in PICTURES:
        taken = take(picture, device(picture.width, picture.scheme, device_scale_factor=picture.sharpness))
        width, height = size(blank, taken)
        assert width == size(blank, picture.path.read_bytes())[0] <= WIDE, picture.name
        assert height > 300, picture.name
