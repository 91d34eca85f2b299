"""What stands in which offer, what absorbs what, and the bench order."""

from __future__ import annotations

from datetime import timedelta

from hypothesis import given
from hypothesis import strategies as st

from intake.book.model import TIERS
from intake.book.text import Text
from intake.quoting.order import reach
from intake.quoting.plan import make_plan


def offers(quote):
    return {tier: offer.jobs for tier, offer in quote.offers.items()}


def test_each_offer_holds_the_one_before_and_orders_by_after_then_stage(make):
    jobs = [make.job("setup", 11, after=("level",)), make.job("level", 7), make.job("clean", 1)]
    rows = [("worn", "level", "put_right"), ("high", "setup", "playable"), ("dirty", "clean", "everything")]
    quote = make.quote(make.book(jobs, rows), "worn", "high", "dirty")
    assert offers(quote) == {
        "playable": ("setup",),
        "put_right": ("level", "setup"),
        "everything": ("clean", "level", "setup"),
    }
    assert [job.id for job in quote.jobs] == ["clean", "level", "setup"]


def test_after_holds_through_a_job_that_is_not_planned(make):
    jobs = [
        make.job("last", 1, after=("middle",)),
        make.job("middle", 1, after=("first",)),
        make.job("first", 9),
    ]
    quote = make.quote(make.book(jobs, [("f", "last", "playable"), ("f", "first", "playable")]), "f")
    assert offers(quote)["playable"] == ("first", "last")


def test_what_a_job_needs_stands_in_every_offer_that_holds_it(make):
    jobs = [make.job("level", 7, needs=("reset",), after=("reset",)), make.job("reset", 5, needs=("look",)),
            make.job("look", 0)]  # fmt: skip
    quote = make.quote(make.book(jobs, [("worn", "level", "playable")]), "worn")
    assert offers(quote)["playable"] == ("look", "reset", "level")
    assert all(job.because == ("worn",) for job in quote.jobs)


def test_what_is_needed_if_found_stands_only_where_a_finding_asks_for_it(make):
    jobs = [make.job("level", 7, needs_if_found=("reset",)), make.job("reset", 5)]
    rows = [("worn", "level", "playable"), ("angle", "reset", "everything")]
    book = make.book(jobs, rows)
    assert offers(make.quote(book, "worn"))["playable"] == ("level",)
    assert offers(make.quote(book, "worn", "angle"))["playable"] == ("reset", "level")


def test_pins_add_up_and_other_findings_count_once(make):
    rows = [("brace", "reglue", "put_right", "count"), ("rattle", "reglue", "playable", 2)]
    book = make.book([make.job("reglue", per=Text(en="brace"))], rows)
    pins = [make.finding("brace", pin=1, item={"count": 2}), make.finding("brace", pin=2, item={"count": 1})]
    (job,) = make.quote(book, *pins).jobs
    assert (job.quantity, job.tier, job.because) == (3, "put_right", ("brace",))
    assert [str(reason) for reason in job.reasons] == ["brace 1", "brace 2"]
    (job,) = make.quote(book, *pins, "rattle").jobs
    assert (job.quantity, job.tier) == (3, "playable")


def test_a_job_that_is_not_counted_is_done_once_for_all_pins(make):
    rows = [("chip", "fill", "everything", 1), ("dent", "fill", "everything", "count")]
    pins = [make.finding("chip", pin=1), make.finding("chip", pin=2),
            make.finding("dent", pin=3, item={"count": 4})]  # fmt: skip
    once = make.book([make.job("fill")], rows)
    each = make.book([make.job("fill", per=Text(en="mark"))], rows)
    assert [job.quantity for job in make.quote(once, *pins).jobs] == [1]
    assert [job.quantity for job in make.quote(each, *pins).jobs] == [6]
    assert [str(reason) for reason in make.quote(once, *pins).jobs[0].reasons] == [
        "chip 1",
        "chip 2",
        "dent 3",
    ]


def test_a_quantity_may_be_a_list_of_frets(make):
    book = make.book([make.job("reseat")], [("loose", "reseat", "playable", "loose_frets")])
    (job,) = make.quote(book, "loose", facts={"loose_frets": (3, 5, 7)}).jobs
    assert job.quantity == 3


def test_an_included_job_is_absorbed_with_its_reasons(make):
    jobs = [make.job("restring", 11), make.job("setup", 11, includes=("restring",))]
    rows = [("old", "restring", "put_right"), ("high", "setup", "put_right")]
    quote = make.quote(make.book(jobs, rows), "old", "high")
    (job,) = quote.jobs
    assert (job.id, job.includes, job.because) == ("setup", ("restring",), ("old", "high"))
    assert quote.offers["put_right"].includes == {"setup": ("restring",)}


def test_absorption_reaches_through_jobs_that_are_not_planned(make):
    jobs = [
        make.job("nut", 8),
        make.job("setup", 11, includes=("nut",)),
        make.job("slide", 11, includes=("setup",)),
    ]
    quote = make.quote(make.book(jobs, [("f", "nut", "playable"), ("f", "slide", "playable")]), "f")
    assert [(job.id, job.includes) for job in quote.jobs] == [("slide", ("nut",))]


def test_nothing_is_absorbed_across_a_job_that_must_come_between(make):
    jobs = [
        make.job("rod", 5),
        make.job("refret", 7, after=("rod",)),
        make.job("setup", 11, after=("refret",), includes=("rod",)),
    ]
    rows = [("bow", "rod", "playable"), ("worn", "refret", "put_right"), ("high", "setup", "playable")]
    quote = make.quote(make.book(jobs, rows), "bow", "worn", "high")
    assert offers(quote)["playable"] == ("setup",)
    assert offers(quote)["put_right"] == ("rod", "refret", "setup")
    assert quote.offers["playable"].includes == {"setup": ("rod",)}
    assert [job.id for job in quote.jobs] == ["rod", "refret", "setup"]


def test_a_job_between_that_is_absorbed_too_does_not_stand_in_the_way(make):
    jobs = [make.job("rod", 5), make.job("nut", 8, after=("rod",)),
            make.job("setup", 11, after=("nut",), includes=("rod", "nut"))]  # fmt: skip
    rows = [("f", id, "playable") for id in ("rod", "nut", "setup")]
    assert offers(make.quote(make.book(jobs, rows), "f"))["playable"] == ("setup",)


def test_what_comes_after_an_absorbed_job_comes_after_its_absorber(make):
    jobs = [
        make.job("nut", 6, after=("level",)),
        make.job("level", 7),
        make.job("refret", 9, includes=("level",)),
    ]
    rows = [("f", id, "playable") for id in ("nut", "level", "refret")]
    assert offers(make.quote(make.book(jobs, rows), "f"))["playable"] == ("refret", "nut")


def test_a_low_offer_keeps_alone_what_only_a_higher_job_includes(make):
    jobs = [make.job("restring", 11), make.job("setup", 11, includes=("restring",))]
    rows = [("old", "restring", "playable"), ("high", "setup", "put_right")]
    quote = make.quote(make.book(jobs, rows), "old", "high")
    assert offers(quote)["playable"] == ("restring",)
    assert offers(quote)["put_right"] == ("setup",)
    assert {job.id: job.tier for job in quote.jobs} == {"restring": "playable", "setup": "put_right"}


def test_a_crack_elsewhere_is_not_inside_another_cracks_job(make):
    jobs = [make.job("cleat", 3), make.job("guard", 3, includes=("cleat",))]
    rows = [
        ("crack", "cleat", "playable"),
        ("guard_crack", "guard", "playable"),
        ("guard_crack", "cleat", "playable"),
    ]
    book = make.book(jobs, rows)
    same = make.quote(book, make.finding("guard_crack", pin=1))
    assert offers(same)["playable"] == ("guard",)
    elsewhere = make.quote(book, make.finding("guard_crack", pin=1), make.finding("crack", pin=2))
    assert offers(elsewhere)["playable"] == ("cleat", "guard")


def test_the_stronger_job_takes_the_weaker_ones_place_from_its_offer_up(make):
    jobs = [
        make.job("shim", 10),
        make.job("saddle", 10, hours=make.hours(4)),
        make.job("setup", 11, needs=("shim",)),
    ]
    rows = [
        ("low", "shim", "playable"),
        ("low", "saddle", "put_right", None, "shim"),
        ("f", "setup", "playable"),
    ]
    quote = make.quote(make.book(jobs, rows), "low", "f")
    assert offers(quote)["playable"] == ("shim", "setup")
    assert offers(quote)["put_right"] == offers(quote)["everything"] == ("saddle", "setup")
    saddle = next(job for job in quote.jobs if job.id == "saddle")
    assert saddle.instead_of == ("shim",)


def test_of_a_chain_of_replacements_only_the_strongest_stands(make):
    jobs = [make.job(id) for id in ("clean", "touch_up", "refinish")]
    rows = [("f", "clean", "playable"), ("f", "touch_up", "playable", None, "clean"),
            ("f", "refinish", "everything", None, "touch_up")]  # fmt: skip
    quote = make.quote(make.book(jobs, rows), "f")
    assert offers(quote) == {
        "playable": ("touch_up",),
        "put_right": ("touch_up",),
        "everything": ("refinish",),
    }


def test_a_stop_takes_its_jobs_and_all_that_needs_them_out(make):
    jobs = [make.job("wiring"), make.job("check", needs=("wiring",)), make.job("nut", group="nut"),
            make.job("stabilise")]  # fmt: skip
    rows = [("hum", "wiring", "playable"), ("hum", "check", "playable"), ("low", "nut", "playable"),
            ("frail", "stabilise", "playable")]  # fmt: skip
    book = make.book(jobs, rows)
    mains = make.finding("mains", "stop", holds=("wiring",))
    quote = make.quote(book, "hum", "low", mains)
    assert (offers(quote)["everything"], quote.held) == (("nut",), ("wiring", "check"))
    assert offers(make.quote(book, "hum", "low", make.finding("x", "stop", holds=("nut",))))["playable"] == (
        "wiring", "check",
    )  # fmt: skip
    frail = make.finding("frail", "stop", holds=("all",))
    quote = make.quote(book, "hum", "low", frail)
    assert offers(quote)["everything"] == ("stabilise",)
    assert any("wiring, check, nut" in note["en"] for note in quote.notes)


def test_a_job_after_moisture_is_a_forecast_and_the_quote_says_so(make):
    jobs = [make.job("humidify", 2), make.job("crack", 3, forecast_after=("humidify",))]
    book = make.book(jobs, [("dry", "humidify", "playable"), ("open", "crack", "put_right")])
    quote = make.quote(book, "dry", "open")
    assert {job.id: job.forecast for job in quote.jobs} == {"humidify": False, "crack": True}
    assert any("forecast" in note["en"] for note in quote.notes)
    assert not make.quote(book, "open").jobs[0].forecast


@st.composite
def plans(draw):
    """Jobs whose links go back in the list (so nothing is circular), and findings that ask for some."""
    count = draw(st.integers(1, 8))
    ids = [f"j{number}" for number in range(count)]
    links = [
        {
            key: tuple(draw(st.sets(st.sampled_from(ids[:at]), max_size=2))) if at else ()
            for key in ("after", "needs", "needs_if_found")
        }
        | {
            "includes": tuple(draw(st.sets(st.sampled_from(ids), max_size=2)) - {id}),
            "stage": draw(st.integers(0, 3)),
        }
        for at, id in enumerate(ids)
    ]
    asked = draw(
        st.lists(
            st.tuples(
                st.sampled_from(ids), st.sampled_from(TIERS), st.one_of(st.none(), st.sampled_from(ids))
            ),
            min_size=1,
            max_size=6,
        )
    )
    return ids, links, asked


@given(plans())
def test_any_plan_nests_is_closed_keeps_order_and_loses_nothing(make, drawn):
    ids, links, asked = drawn
    jobs = [make.job(id, **fields) for id, fields in zip(ids, links, strict=True)]
    rows = [("f", job, tier, None, instead if instead != job else None) for job, tier, instead in asked]
    book = make.book(jobs, rows)
    quote = make.quote(book, "f")
    lower: set[str] = set()
    for tier in TIERS:
        offer = quote.offers[tier]
        inside = {inner for several in offer.includes.values() for inner in several}
        held = set(offer.jobs) | inside
        weaker = {id: [row[4] for row in rows if row[1] == id and row[4]] for id in ids}
        replaced = set().union(*(reach(id, weaker.__getitem__) for id in held)) - held
        wanted = {job for job, asked_tier, _ in asked if TIERS.index(asked_tier) <= TIERS.index(tier)}
        assert not inside & set(offer.jobs)
        assert wanted <= held | replaced
        assert lower <= held | replaced
        for id in held:
            assert set(book.jobs[id].needs) <= held | replaced
        place = {id: offer.jobs.index(id) for id in offer.jobs}
        place |= {inner: place[outer] for outer, several in offer.includes.items() for inner in several}
        for id in held:
            for earlier in reach(id, lambda job: book.jobs[job].after) & held:
                assert place[earlier] <= place[id]
        lower = held
    assert {id for offer in quote.offers.values() for id in offer.jobs} == {job.id for job in quote.jobs}


@given(plans())
def test_never_a_job_beside_the_one_that_stands_instead_of_it(make, drawn):
    ids, links, asked = drawn
    jobs = [make.job(id, **fields) for id, fields in zip(ids, links, strict=True)]
    rows = [("f", job, tier, None, instead if instead != job else None) for job, tier, instead in asked]
    quote = make.quote(make.book(jobs, rows), "f")
    pairs = {(job, instead) for _, job, _, _, instead in rows if instead}
    for offer in quote.offers.values():
        held = set(offer.jobs).union(*offer.includes.values())
        for job, weaker in pairs:
            assert not {job, weaker} <= held or (weaker, job) in pairs or job == weaker


def test_what_hangs_on_nothing_that_waits_is_free_to_fill_a_wait(make):
    """Tuners come after nothing: they are done while the brace cures. Wiring only follows its tracing."""
    jobs = [
        make.job("brace", 3, wait=timedelta(days=1)),
        make.job("frets", 7, after=("brace",)),
        make.job("trace", 9),
        make.job("switch", 9, after=("trace",)),
        make.job("tuners", 9),
        make.job("check", 11, after=("frets",)),
    ]
    rows = [("f", job.id, "playable") for job in jobs if job.id != "frets"]
    after = make_plan(make.assessment("f"), make.book(jobs, rows)).offers["playable"].after
    assert after["tuners"] == after["trace"] == ()
    assert after["switch"] == ("trace",)
    assert after["check"] == ("brace", "trace", "switch", "tuners")


def test_a_job_with_a_waiting_one_inside_it_is_not_free(make):
    jobs = [
        make.job("dry", 2, wait=timedelta(days=1)),
        make.job("glue", 3, wait=timedelta(days=1)),
        make.job("seam", 4, after=("dry",)),
        make.job("wiring", 9, includes=("seam",)),
    ]
    rows = [("f", id, "playable") for id in ("glue", "seam", "wiring")]
    plan = make_plan(make.assessment("f"), make.book(jobs, rows)).offers["playable"]
    assert plan.absorbed == {"seam": "wiring"}
    assert plan.after["wiring"] == ("glue",)
