"""The bench sheet: jobs in order, numbers to work to, waits, and what is measured again."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from datetime import datetime
from types import SimpleNamespace
from typing import Any

import pytest
from pypdf import PdfReader

from intake.book.model import Book
from intake.paper import DocumentOptions, PaperError, bench_html, press
from intake.quoting.model import Finding, Quote, Stretch, Walkin

Case = tuple[Quote, Walkin]
DETAILS = DocumentOptions("1042", "https://shop.example/t/0192f0c1", "Ada")


def html(case: Case, book: Book, *, tier: Any = "put_right", offer: Any = None, **more: Any) -> str:
    return bench_html(case[0], book, case[1], replace(DETAILS, **more), tier=tier, offer=offer)


def names(page: str) -> list[str]:
    return re.findall(r'class="name">([^<]+)<', page)


def scheduled(case: Case) -> Case:
    """The full case with work on Thursday and Friday, glue over a night, and a later visit."""
    quote, walkin = case
    work = [
        Stretch("brace-reglue", "work", datetime(2026, 12, 3, 10), datetime(2026, 12, 3, 12)),
        Stretch("brace-reglue", "glue", datetime(2026, 12, 3, 12), datetime(2026, 12, 4, 12)),
        Stretch("neck-reset", "work", datetime(2026, 12, 4, 12), datetime(2026, 12, 4, 18)),
        Stretch("setup", "settle", datetime(2026, 12, 4, 18), datetime(2026, 12, 10, 18, 1)),
        Stretch("setup", "work", datetime(2026, 12, 11, 10), datetime(2026, 12, 11, 11)),
    ]
    offer = replace(quote.offers["put_right"], schedule=tuple(work), critical=("neck-reset",))
    return replace(quote, offers={**quote.offers, "put_right": offer}), walkin


def test_jobs_stand_in_bench_order_and_only_those_of_the_offer(full: Case, book: Book) -> None:
    right = ["1. Reglue a loose brace × 2 (brace)", "2. Reset the neck",
             "3. Level, crown and polish the frets", "4. Full setup"]  # fmt: skip
    assert names(html(full, book)) == right
    assert names(html(full, book, tier="playable")) == right[:2]
    assert names(html(full, book, tier="everything"))[0] == "1. Humidify slowly"


def test_an_offer_put_together_by_hand_is_followed(full: Case, book: Book) -> None:
    offer = replace(
        full[0].offers["playable"], jobs=("setup", "neck-reset"), includes={"setup": ("restring",)}
    )
    page = html(full, book, offer=offer)
    assert names(page) == ["1. Full setup", "2. Reset the neck"]
    assert "Includes: Put on new strings" in page


def test_an_unknown_offer_is_refused(full: Case, book: Book) -> None:
    with pytest.raises(PaperError, match="gold"):
        html(full, book, tier="gold")


def test_numbers_for_this_player(full: Case, book: Book, make: SimpleNamespace) -> None:
    quote, walkin = full
    facts = make.facts | {
        "action_target_bass": make.facts["action_bass_low"],
        "saddle_drop_bass": make.facts["relief"], "saddle_drop_treble": -make.facts["relief"],
        "heel_wedge": make.facts["crown_left"],
    }  # fmt: skip
    page = html((replace(quote, assessment=make.assessment(facts)), walkin), book)
    for expected in (
        "9/64 in", "5/64 in to 7/64 in", "<strong>5/64 in</strong>", "0.004 in to 0.010 in",
        "4/64 in or more",
        "With the neck angle as it is, the middle of the range asks: saddle bass 0.008 in lower, treble "
        "0.008 in higher.",
        "take a wedge of 0.029 in at the end of the heel", "leaves 0.029 in of crown; 0.030 in is the least",
    ):  # fmt: skip
        assert expected in page, expected


def test_without_a_reset_the_saddle_sentence_has_no_condition(
    full: Case, book: Book, make: SimpleNamespace
) -> None:
    quote, walkin = full
    facts = make.facts | {
        "saddle_drop_bass": make.facts["relief"],
        "saddle_drop_treble": make.facts["bridge_lift"],
    }
    del facts["neck_angle_deficit"]
    offer = replace(quote.offers["put_right"], jobs=("setup",), includes={"setup": ("saddle-lower",)})

    page = html((replace(quote, assessment=make.assessment(facts)), walkin), book, offer=offer)

    assert "The middle of the range asks: saddle bass 0.008 in lower, treble no change." in page
    assert "neck reset" not in page.lower().replace("reset the neck", "")


def test_a_sheet_without_saddle_work_says_nothing_of_the_saddle(full: Case, book: Book) -> None:
    offer = replace(full[0].offers["put_right"], jobs=("brace-reglue",))

    page = html(full, book, offer=offer)

    assert "middle of the range" not in page and "would show" not in page


def test_waits_and_the_jobs_that_set_the_day(full: Case, book: Book) -> None:
    page = html(scheduled(full), book)
    assert "Then wait 24 h (glue), until Fri December 4 12:00\u202fPM." in page
    assert "Comes after a wait of 6 days (settling), until Thu December 10 6:15\u202fPM." in page
    assert page.count("sets the ready day") == 1 and ">Thu 3<" in page


def test_plan_by_day_is_drawn_with_closed_days(full: Case, book: Book) -> None:
    page = html(scheduled(full), book)
    days = page[page.index("Plan by day, from December 3, 2026 to December 11, 2026") :]
    days = days[: days.index("</svg>")]
    assert days.count('class="work"') == 3 and days.count('class="wait"') == 2
    assert days.count('class="closed"') == 2  # Sunday and Monday: the shop works from Tuesday to Saturday
    assert "Plan by day" not in html(full, book)


def test_what_is_measured_again_stands_after_its_job(full: Case, book: Book, make: SimpleNamespace) -> None:
    quote, walkin = full
    evidence = (SimpleNamespace(id="crown_left"), SimpleNamespace(id="family"), SimpleNamespace(id="relief"))
    worn = Finding("worn", "work", make.text("Worn."), evidence)
    jobs = tuple(replace(j, because=("worn",)) if j.forecast else j for j in quote.jobs)
    case = replace(quote, jobs=jobs, assessment=make.assessment(make.facts, (worn,))), walkin
    page = html(case, book, tier="everything")
    again = page[page.index("Measure again before going on") :]
    cells = re.findall(r"<td>([^<]+)</td>", again[: again.index("</table>")])
    assert cells == ["1. Humidify slowly", "4", "Lowest fret crown after levelling, Relief"]
    assert "Measure again before going on" not in html(case, book)  # nothing is awaited in that offer


def test_stops_and_cautions_come_before_the_work(full: Case, book: Book, make: SimpleNamespace) -> None:
    quote, walkin = full
    stop = Finding("mains", "stop", make.text("A licensed technician must open it."), ())
    assessment = replace(quote.assessment, findings=(stop,))
    page = html((replace(quote, assessment=assessment, held=("humidify",)), walkin), book)
    order = [page.index(words) for words in (
        "A licensed technician", "settled: Humidify slowly", "more than half of what", "Jobs, in this order",
        "Old lacquer may chip",
    )]  # fmt: skip
    assert order == sorted(order) and page.count("Old lacquer may chip") == 1


def test_there_is_room_to_write(full: Case, book: Book) -> None:
    page = html(full, book)
    rows = page[page.index("bench-jobs") :]
    assert rows[: rows.index("</table>")].count('<td class="write') == 2 * 4
    assert page.count("$") == 0  # the bench needs no prices


def test_as_pdf_in_french(full: Case, book: Book) -> None:
    quote, walkin = scheduled(full)
    options = replace(DETAILS, language="fr", paper="a4", revision=3)
    data = press().render(bench_html(quote, book, walkin, options))
    text = " ".join(" ".join(page.extract_text() for page in PdfReader(io.BytesIO(data)).pages).split())
    for expected in (
        "Fiche d’atelier 1042",
        "révision 3",
        "Cotes pour ce musicien",
        "Puis attendre 24 h (colle)",
    ):
        assert expected in text, expected
