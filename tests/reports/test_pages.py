"""The pages: whole, escaped, without strangers' addresses, and saying what the figures say."""

import base64
import re
from datetime import date, datetime
from html.parser import HTMLParser
from itertools import pairwise

import pytest

from photolog.book import history, plants, seasons
from photolog.book.originals import original_of
from photolog.reports import history_page, seasons_page
from photolog.terms import Subject
from tests.reports.garden import LIFTED, enter_photo, planted_and_lifted

TAGS = {11: "Tin Orchard", 12: "Wherry <b>Lamp</b> & co", 16: "Tía Farola"}
CHANGES = {11: 0.8, 12: 1.0, 16: 1.2}


class Page(HTMLParser):
    """What a page holds: tags opened, their attributes, text, and whether all is closed."""

    EMPTY = frozenset(["meta", "link", "img", "br", "line", "path", "circle", "hr", "input"])

    def __init__(self, html):
        super().__init__(convert_charrefs=True)
        self.open, self.elements, self.text = [], [], []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))
        if tag not in self.EMPTY:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag):
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "style" not in self.open:
            self.text.append(data)

    def all(self, tag):
        return [attrs for name, attrs in self.elements if name == tag]


@pytest.fixture
def garden(book):
    planted_and_lifted(book, TAGS)
    for season in (2024, 2025):
        for tag, change in CHANGES.items():
            size = 200.0 * (change if season == 2025 else 1.0)
            enter_photo(
                book,
                tag,
                datetime.combine(LIFTED[season], datetime.min.time()).replace(hour=tag),
                name=f"LF{season}{tag}.JPG",
                spread_mm=size,
                u=0.01 * size,
                tubers=9,
            )
    return book


@pytest.fixture
def season_html(garden):
    return seasons_page(seasons.compare(garden))


@pytest.fixture
def history_html(garden):
    enter_photo(garden, 11, datetime(2026, 2, 1, 9), name="tall.jpg", subject=Subject.WHOLE_PLANT)
    enter_photo(
        garden,
        11,
        datetime(2026, 5, 16, 18),
        name="dim.jpg",
        refused=("Too blurred.", "Hold still."),
    )
    return history_page(history.of_tag(garden, 11))


@pytest.fixture(params=["season_html", "history_html"])
def html(request):
    return request.getfixturevalue(request.param)


def test_every_tag_is_closed_and_ids_are_unique(html):
    page = Page(html)
    assert page.open == []
    ids = [attrs["id"] for _, attrs in page.elements if "id" in attrs]
    assert len(ids) == len(set(ids))
    for _, attrs in page.elements:
        for pointed in attrs.get("aria-labelledby", "").split():
            assert pointed in ids


def test_nothing_is_fetched_from_anywhere(html):
    page = Page(html)
    assert page.all("script") == page.all("link") == page.all("iframe") == []
    for _, attrs in page.elements:
        for name in ("src", "href", "srcset", "action"):
            if name in attrs:
                assert attrs[name].startswith("data:image/jpeg;base64,")
    assert "url(" not in html
    assert "@import" not in html
    assert not re.search(r"https?://", html)


def test_every_picture_has_words_and_a_size_so_that_nothing_jumps(html):
    pictures = Page(html).all("img")
    assert pictures
    assert all(picture["alt"].strip() for picture in pictures)


def test_tables_have_captions_and_heads(html):
    page = Page(html)
    assert len(page.all("table")) == len(page.all("caption")) > 0
    assert all("scope" in attrs for attrs in page.all("th"))


def test_headings_go_down_one_step_at_a_time(html):
    levels = [int(tag[1]) for tag, _ in Page(html).elements if re.fullmatch(r"h[1-6]", tag)]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(b - a <= 1 for a, b in pairwise(levels))


def test_names_are_escaped(season_html):
    assert "Wherry <b>Lamp</b>" not in season_html
    assert "Wherry &lt;b&gt;Lamp&lt;/b&gt; &amp; co" in season_html


def test_gps_and_camera_stay_behind(garden, html):
    original = original_of(garden, 1).read_bytes()
    assert b"Larkfield" in original
    for data in re.findall(r"base64,([A-Za-z0-9+/=]+)", html):
        jpeg = base64.b64decode(data)
        assert jpeg[:2] == b"\xff\xd8"
        assert b"Larkfield" not in jpeg
        assert b"Exif" not in jpeg


def test_the_chart_says_in_words_what_the_table_says(season_html):
    page = Page(season_html)
    assert len(page.all("svg")) == 2
    assert all(svg["role"] == "img" for svg in page.all("svg"))
    described = re.search(r'<desc id="size-chart-desc">(.*?)</desc>', season_html)[1]
    for figures in re.findall(r"\d\.\d\d \(\d\.\d+ to \d\.\d+\)", described):
        assert season_html.count(figures) >= 3, "in the description, the chart and the table"
    assert "Tin Orchard 0.80 (" in described
    assert "smaller" in described


def test_the_words_are_there(season_html):
    text = " ".join(" ".join(Page(season_html).text).split())
    assert "▼ smaller Tin Orchard" in text
    assert "▲ larger Tía Farola" in text
    assert "which is our own judgement, not measured" in text
    assert "No photo of a clump was left out." in text
    assert "spread 160 ± 3 mm, 9 tubers (8 to 11)" in text


def test_no_workshop_words(html):
    text = "".join(Page(html).text).lower()
    for word in ("corner", "residual", "sigma", "nan", "none", "null", "heterogene", "tau"):
        assert not re.search(rf"\b{word}", text), word


def test_history_shows_measured_refused_and_unmeasured_photos(history_html):
    text = " ".join(" ".join(Page(history_html).text).split())
    assert "Clumps, at one scale" in text
    assert "Too blurred. Hold still." in text
    assert "16 May 2026, 18:00" in text
    assert "Not measured." in text
    assert "first frost (the whole garden)" in text
    # Two clumps cut out, and the two photos that have no size shown whole.
    assert len(Page(history_html).all("img")) == 4


def test_a_plant_without_photos_has_a_page(garden):
    plants.add(garden, variety="Tin Orchard", tag=77, since=date(2026, 6, 1))
    text = "".join(Page(history_page(history.of_tag(garden, 77))).text)
    assert "No photo has been matched to it yet." in text
    assert "Nothing is entered yet." in text


def test_a_photo_that_is_gone_leaves_a_note(garden):
    original_of(garden, 1).unlink()
    html = seasons_page(seasons.compare(garden))
    assert "The picture can&#39;t be shown" in html or "The picture can't be shown" in html
    assert len(Page(html).all("img")) == 5


def test_seasons_with_nothing_in_common_have_a_page(book):
    planted_and_lifted(book, {1: "Alpha", 2: "Beta"})
    enter_photo(book, 1, datetime(2025, 5, 17, 12), name="a.jpg", spread_mm=200.0)
    enter_photo(book, 2, datetime(2026, 5, 16, 12), name="b.jpg", spread_mm=200.0)
    html = seasons_page(seasons.compare(book))
    page = Page(html)
    assert page.open == []
    assert page.all("svg") == []
    assert "no clump measured as lifted in 2025" in html
    assert "fewer than two varieties can be compared" in html


def luminance(colour):
    """Relative luminance as the W3C's accessibility guidelines (WCAG 2.2) define it."""
    parts = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_text_stands_out_in_light_and_dark(html):
    # WCAG 2.2, success criterion 1.4.3: 4.5 to 1 for text.
    light, dark = re.findall(r":root \{[^}]*--paper:[^}]*\}", html)[:2]
    for scheme in (light, dark):
        colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", scheme))
        for text in ("ink", "faint", "leaf", "rust"):
            for ground in ("paper", "sheet", "straw"):
                one, other = sorted((luminance(colours[text]), luminance(colours[ground])))
                assert (other + 0.05) / (one + 0.05) >= 4.5, (text, ground)
