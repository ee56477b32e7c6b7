"""A bloom's own depth from side photos of its plant's day: how it is pooled, used and shown."""

import math
from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import count
from pathlib import Path
from types import MappingProxyType

import numpy as np
import pytest
from PIL import Image
from sqlalchemy import select

from measure import OwnDepth
from measure.staging import stage_bloom
from photolog.book import StockRef, history, judging, matching, showing
from photolog.book.bloom_depths import depth_ratios, depths_by_day
from photolog.book.errors import Unknown, WrongEntry
from photolog.book.intake import take_in
from photolog.book.measure_photo import MeasureJob, measure_photo
from photolog.book.measuring import measure_all
from photolog.book.photo_sizes import (
    Doubt,
    MeasuredSizes,
    PhotoRecord,
    PhotoSubject,
    SizeFigure,
)
from photolog.records import MeasurementRow
from photolog.reports.history_page import history_page
from photolog.reports.history_text import history_text
from photolog.terms import MatchState, Subject
from tests.book.photographed import fill_garden
from tests.measure.side_scenes import side_scene
from tests.photos.written import FOCAL35, exif, write

DAY = date(2026, 2, 3)
NOON = datetime(2026, 2, 3, 12, 0)
PLANT = StockRef("plant", 1)


_ids = count(1)


def record(
    shows,
    name,
    value,
    u,
    *,
    at=NOON,
    of=(PLANT,),
    flags=(),
    accepted=False,
    printing=None,
    scale=0,
    burst=None,
):
    number = next(_ids)
    figure = SizeFigure(
        value=value,
        u=u,
        interval95=(value - 2 * u, value + 2 * u),
        components={"printing": scale * value},
    )
    return PhotoRecord(
        id=number,
        burst=number if burst is None else burst,
        set_apart=False,
        path=Path("a.jpg"),
        name="a.jpg",
        taken_at=at,
        day_told=False,
        shows=shows,
        state=MatchState.MATCHED,
        waiting_because=None,
        subjects=tuple(
            PhotoSubject(stock=stock, because="", by_hand=False, stage=None) for stock in of
        ),
        measured=MeasuredSizes(
            measured_of="bloom",
            refused=False,
            reason=None,
            remedy=None,
            sizes=MappingProxyType({name: figure}),
            doubts=tuple(Doubt(flag=flag, sentence="", remedy="") for flag in flags),
            accepted=accepted,
            turned_down=False,
            printing=printing,
            card_design="bloom-1",
            made_by="measure 0.1.0",
            outline=np.zeros((3, 2)),
            mm_per_px=0.1,
        ),
    )


def side(value=60.0, u=2.0, **given):
    return record(Subject.BLOOM_SIDE, "depth_mm", value, u, **given)


def face(value=100.0, u=1.5, **given):
    return record(Subject.BLOOM_FACE, "diameter_mm", value, u, **given)


def test_one_depth_is_as_sure_as_one_bloom_is_like_another():
    (depth,) = depths_by_day([side()]).values()
    # 2 mm as measured, and 6 % of 60 mm, as the root of the sum of squares.
    assert (depth.mm, depth.u_mm) == (60.0, pytest.approx(math.hypot(2.0, 3.6)))


def test_several_scatter_by_their_standard_deviation():
    (depth,) = depths_by_day([side(50.0), side(60.0), side(70.0)]).values()
    # The standard deviation of 50, 60 and 70 is 10.
    assert (depth.mm, depth.u_mm) == (60.0, pytest.approx(math.hypot(10.0, 3.6)))


def test_a_burst_counts_as_one_photo():
    burst = [side(70.0, burst=7) for _ in range(5)]
    (depth,) = depths_by_day([side(50.0), *burst]).values()
    # As if there were two: their mean, and the standard deviation of 50 and 70.
    assert (depth.mm, depth.u_mm) == (
        pytest.approx(60.0),
        pytest.approx(math.hypot(math.sqrt(200.0), 3.6)),
    )


def test_a_burst_alone_is_no_surer_than_one_of_its_shots():
    (depth,) = depths_by_day([side(60.0, 2.0, burst=7) for _ in range(9)]).values()
    assert (depth.mm, depth.u_mm) == (
        pytest.approx(60.0),
        pytest.approx(math.hypot(2.0, 3.6)),
    )


def test_what_can_not_be_trusted_or_is_of_several_plants_tells_no_depth():
    other = StockRef("plant", 2)
    bad = [
        side(flags=("outline unsure",)),
        side(of=(PLANT, other)),
        side(of=(StockRef("batch", 1),)),
        side(of=()),
        side(at=None),
        face(),
    ]
    assert depths_by_day(bad) == {}
    assert list(depths_by_day([side(flags=("outline unsure",), accepted=True)])) == [(PLANT, DAY)]


def test_the_ratio_of_a_day_by_the_closed_form():
    later = NOON.replace(day=9)
    ratios = depth_ratios([side(), face(), face(at=later), side(of=(StockRef("plant", 2),))])
    ((plant, (ratio,)),) = ratios.items()
    assert (plant, ratio.on) == (PLANT, DAY)
    assert ratio.value == pytest.approx(0.6)
    # Relative uncertainties of a quotient add as squares.
    relative = math.hypot(math.hypot(2.0, 3.6) / 60.0, 1.5 / 100.0)
    assert ratio.u == pytest.approx(0.6 * relative)


def test_one_printing_cancels_and_two_do_not():
    one = depth_ratios([side(scale=0.006), face(scale=0.006)])[PLANT][0]
    # Taken off each before they are added: 0.6 % of 60 mm and of 100 mm.
    side_u, face_u = math.hypot(2.0, 3.6) ** 2 - 0.36**2, 1.5**2 - 0.6**2
    assert one.u == pytest.approx(0.6 * math.sqrt(side_u / 60.0**2 + face_u / 100.0**2))
    two = depth_ratios([side(scale=0.006, printing="1"), face(scale=0.006, printing="2")])[PLANT][0]
    assert two.u > one.u


def taken(folder, picture, *, name, minute, focal35_mm):
    block = exif(original=f"2026:02:03 12:{minute:02d}:00", details={FOCAL35: round(focal35_mm)})
    write(folder, name=name, image=Image.fromarray(picture), block=block, quality=95)


@pytest.fixture
def blooms(book, tmp_path):
    """A ball's face and its side, both of tag 11 and of one day: photos 1 and 2."""
    fill_garden(book)
    seen = side_scene("ball", widest_mm=100.0, seed=6)
    front = stage_bloom("ball", widest_mm=100.0, seed=6, distance_mm=450.0, size_px=(2000, 1500))
    taken(tmp_path, front.canvas().finish(), name="LF1", minute=1, focal35_mm=26.0)
    taken(tmp_path, seen.picture(), name="LF2", minute=2, focal35_mm=26.0)
    take_in(book, [tmp_path], workers=0, now=datetime(2026, 7, 1, tzinfo=UTC))
    for number in (1, 2):
        matching.decide(book, number, 11)
    showing.tell(book, 2, "bloom side", held="level")
    return book, front.bloom, seen


def test_a_side_photo_makes_the_face_of_its_day_surer(blooms):
    book, true, seen = blooms
    report = measure_all(book, workers=0)
    assert (report.measured, report.refused) == (2, ())
    told = history.of_tag(book, 11)
    face_photo, side_photo = (photo.record for photo in told.photos)
    depth = side_photo.measured.sizes["depth_mm"]
    assert depth.interval95[0] < seen.depth_mm < depth.interval95[1]
    widest = face_photo.measured.sizes["widest_mm"]
    assert widest.interval95[0] < true.widest_mm < widest.interval95[1]
    with book.reading() as session:
        row = session.scalars(select(MeasurementRow).where(MeasurementRow.photo_id == 1)).one()
    assert row.settings["depth_mm"] == pytest.approx(depth.value)
    assert row.colours["colours"][0]["word"]
    assert "form not told" not in row.flags
    (ratio,) = told.ratios
    assert ratio.interval95[0] < seen.depth_mm / true.diameter_mm < ratio.interval95[1]
    words = f"depth over diameter {ratio.value:.2f}"
    assert f"2026-02-03  {words}" in history_text(told)
    assert words in history_page(told)
    again = measure_all(book, workers=0)
    assert (again.measured, again.already) == (0, 2)
    # Turned down, the side view tells nothing: the face is measured anew, without a depth.
    judging.turn_down(book, 2)
    assert measure_all(book, workers=0).measured == 1
    assert history.of_tag(book, 11).ratios == ()


def test_said_to_show_something_else_the_old_size_no_longer_counts(blooms):
    book, _, _ = blooms
    measure_all(book, workers=0)
    shown = showing.tell(book, 2, "Bloom Face")
    assert (shown.shows, shown.held) == (Subject.BLOOM_FACE, "level")
    assert history.of_tag(book, 11).photos[1].record.measured is None
    with pytest.raises(Unknown, match="has not been measured yet"):
        judging.accept(book, 2)
    showing.tell(book, 2, "bloom side")
    assert "depth_mm" in history.of_tag(book, 11).photos[1].record.measured.sizes


def test_what_can_not_be_said_of_a_photo(book):
    with pytest.raises(Unknown, match="There is no photo 9"):
        showing.tell(book, 9, "clump")
    with pytest.raises(Unknown, match=r"No photo shows 'bloom sides'\. Did you mean bloom side"):
        showing.tell(book, 9, "bloom sides")
    with pytest.raises(WrongEntry, match="The card is held: level, behind, bench; not 'aloft'"):
        showing.tell(book, 9, "clump", held="aloft")


def test_a_depth_that_can_not_be_this_blooms_is_left_out(tmp_path):
    front = stage_bloom("ball", widest_mm=100.0, seed=6, distance_mm=450.0, size_px=(2000, 1500))
    taken(tmp_path, front.canvas().finish(), name="LF1", minute=1, focal35_mm=26.0)
    job = MeasureJob(path=tmp_path / "LF1.jpg", of="bloom", form="ball")
    deep = measure_photo(replace(job, depth=OwnDepth(mm=400.0, u_mm=9.0)))
    assert deep.settings["depth_mm"] is None
    assert deep.sizes == measure_photo(job).sizes
