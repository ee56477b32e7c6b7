"""The same comparisons as plain text: within 80 columns, with words, reasons and numbers."""

from datetime import datetime

import pytest

from photolog.book import history, seasons
from photolog.reports.history_text import history_text
from photolog.reports.seasons_text import seasons_text
from tests.reports.garden import LIFTED, enter_photo, planted_and_lifted

CHANGES = {11: 0.8, 12: 1.0, 16: 1.2}


@pytest.fixture
def garden(book):
    tags = {11: "Saltmarsh Linnet", 12: "Wherry Lamp", 16: "Tía Farola", 20: "Aunt Petronel"}
    planted_and_lifted(book, tags)
    for season in (2024, 2025):
        for tag, change in CHANGES.items():
            size = 200.0 * (change if season == 2025 else 1.0)
            taken = datetime.combine(LIFTED[season], datetime.min.time()).replace(hour=tag)
            enter_photo(
                book, tag, taken, name=f"LF{season}{tag}.JPG", spread_mm=size, u=2.0, tubers=9
            )
    enter_photo(book, 20, datetime(2025, 5, 17, 9), name="LF9.JPG", spread_mm=199.0, tubers=5)
    enter_photo(
        book, 20, datetime(2026, 5, 16, 9), name="LF10.JPG", refused=("Too blurred.", "Hold still.")
    )
    return book


def test_seasons(garden):
    text = seasons_text(seasons.compare(garden))
    assert max(len(line) for line in text.splitlines()) <= 80
    rows = {line.split("  ")[0]: line for line in text.splitlines()[:10]}
    assert rows["Saltmarsh Linnet"].endswith("smaller")
    assert "0.80 (0.7" in rows["Saltmarsh Linnet"]
    assert rows["Aunt Petronel"].endswith("too few to say")
    assert "Aunt Petronel: no clump measured as lifted in 2025." in text
    assert "LF10.JPG: Too blurred. Hold still." in " ".join(text.split())
    assert "95 % intervals" in text


def test_history(garden):
    text = history_text(history.of_tag(garden, 20))
    assert max(len(line) for line in text.splitlines()) <= 80
    assert "photo 7  LF9.JPG  spread 199 ± 6 mm, 5 tubers (4 to 7)" in text
    assert "not measured: Too blurred." in " ".join(text.split())
    assert "first frost" in text
