"""Kill an intake at each moment at which it touches a file; see that the book stands each time.

Run as a program of its own: it forks before anything has started threads. Prints JSON.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import sqlite3
import sys
from datetime import UTC, datetime
from pathlib import Path

import cv2

from photolog.book import StockBook
from photolog.book.intake import take_in
from tests.photos.written import exif, picture, write

NOW = datetime(2026, 7, 1, tzinfo=UTC)
TOUCHES = {"open", "os.rename", "os.remove", "os.mkdir", "os.chmod", "os.rmdir"}
KILLED = 77


def intake_killed_at(moment: int, folder: Path, sources: Path) -> bool:
    """Take in, in a child that ends without any clean-up at that moment; False: it got through."""
    child = os.fork()
    if child == 0:
        seen = 0

        def count(event: str, _arguments: object) -> None:
            nonlocal seen
            if event in TOUCHES:
                seen += 1
                if seen == moment:
                    os._exit(KILLED)

        with StockBook.open(folder) as book:
            sys.addaudithook(count)
            take_in(book, [sources], workers=0, now=NOW)
            os._exit(0)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == KILLED


def faults_in(folder: Path) -> list[str]:
    """What is wrong with a stock book's file and originals."""
    faults = []
    with sqlite3.connect(folder / "book.sqlite3") as rows:
        if rows.execute("PRAGMA integrity_check").fetchone() != ("ok",):
            faults.append("integrity")
        for sha256, n_bytes in rows.execute("SELECT sha256, n_bytes FROM photo"):
            original = folder / "photos" / sha256[:2] / f"{sha256}.jpg"
            if not original.exists():
                faults.append(f"no original for {sha256}")
                continue
            data = original.read_bytes()
            if len(data) != n_bytes or hashlib.sha256(data).hexdigest() != sha256:
                faults.append(f"original of {sha256} is not whole")
    rows.close()
    return faults


def faults_of_one_in_two_files(folder: Path) -> list[str]:
    """What is wrong where one picture came in two files, of which the second has the date."""
    faults = []
    with sqlite3.connect(folder / "book.sqlite3") as rows:
        if rows.execute("SELECT taken_at FROM photo").fetchall() != [("2025-05-17T14:03:22",)]:
            faults.append("the date was not taken over")
        for sha256, kept in rows.execute("SELECT sha256, kept FROM photo_file"):
            file = folder / "photos" / sha256[:2] / f"{sha256}.jpg"
            if not kept or hashlib.sha256(file.read_bytes()).hexdigest() != sha256:
                faults.append("the file that says the date was not kept")
    rows.close()
    return faults


def killed_everywhere(work: Path, sources: Path, *, one_picture: bool) -> tuple[int, list[str]]:
    """Kill an intake of two files at each moment in turn: how many moments, and what was wrong."""
    begun = work / "begun"
    if not begun.exists():
        StockBook.start(begun).close()
    faults: list[str] = []
    moment = 0
    going = True
    while going:
        moment += 1
        folder = work / "book"
        shutil.rmtree(folder, ignore_errors=True)
        shutil.copytree(begun, folder)
        going = intake_killed_at(moment, folder, sources)
        faults += [f"moment {moment}: {fault}" for fault in faults_in(folder)]
        with StockBook.open(folder) as book:
            again = take_in(book, [sources], workers=0, now=NOW)
        if len(again.taken) + len(again.known) != 2 or again.refused:
            faults.append(f"moment {moment}: going on gave {again}")
        after = faults_in(folder)
        if one_picture:
            after += faults_of_one_in_two_files(folder)
        faults += [f"moment {moment}, gone on: {fault}" for fault in after]
        if (folder / "photos" / ".incoming").exists():
            faults.append(f"moment {moment}: copies were left behind")
        if len([file for file in (folder / "photos").rglob("*") if file.is_file()]) != 2:
            faults.append(f"moment {moment}: other originals than the two")
    return moment - 1, faults


def main(work: Path) -> None:
    cv2.setNumThreads(1)
    two, one = work / "two photos", work / "one picture"
    two.mkdir()
    one.mkdir()
    for number in range(2):
        write(two, name=f"LF{number}", image=picture(seed=number), block=exif())
        write(one, name=f"LF{number}", image=picture(), block=exif() if number else None)
    moments, faults = killed_everywhere(work, two, one_picture=False)
    more, found = killed_everywhere(work, one, one_picture=True)
    print(json.dumps({"moments": moments, "of one picture": more, "faults": faults + found}))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
