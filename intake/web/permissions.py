"""Who may ask for what: the one table. An address that stands in neither list is for staff, so that one added
later is closed until somebody opens it.

| addresses                                               | nobody | counter, bench | owner |
|---------------------------------------------------------|--------|----------------|-------|
| the app's own files, the page for when there is no line | yes    | yes            | yes   |
| health; metrics (to this machine alone)                 | yes    | yes            | yes   |
| signing in and out, enrolling, trust, the first set-up  | yes    | yes            | yes   |
| a customer's link (the key stands in the address)       | yes    | yes            | yes   |
| board, wizard, photos, quotes, bench, sending, the yes  | no     | yes            | yes   |
| people and phones; the price book; customers' data      | no     | no             | yes   |

"Nobody" is also a phone that is not enrolled or was revoked, and one whose session has ended. Staff need an
enrolled phone; the owner's password opens any browser.
"""

from __future__ import annotations

ANYBODY = frozenset(
    {
        "static",
        "monitoring.healthz",
        "monitoring.show_metrics",
        "board.ping",
        "pwa.manifest",
        "pwa.worker",
        "pwa.offline",
        "pwa.install_page",
        "access.sign_in",
        "access.pin_page",
        "access.give_pin",
        "access.password_page",
        "access.give_password",
        "access.sign_out",
        "access.enrol_page",
        "access.enrol",
        "access.set_up_page",
        "access.set_up",
        "access.trust_page",
        "access.trust_file",
        "portal.quote",
        "portal.seen",
        "portal.choose",
        "portal.question",
        "portal.say_yes",
        "portal.say_no",
        "portal.ready",
        "portal.pdf",
        "portal.photo",
    }
)
OWNER = frozenset(
    {
        "board.settle_missing",
        "quotes.privacy_page",
        "quotes.hand_out",
        "quotes.forget",
        "access.people_page",
        "access.offer_enrolment",
        "access.bring_page",
        "access.settle_phone",
        "access.add_staff",
        "access.give_new_pin",
        "access.settle_staff",
        "access.change_password",
        "book_editor.overview",
        "book_editor.take_back",
        "book_editor.effect_page",
        "book_editor.save",
        "book_editor.add_column",
        "book_editor.drop",
        "book_editor.money_page",
        "book_editor.change_money",
        "book_editor.hours_page",
        "book_editor.change_hours",
        "book_editor.jobs_page",
        "book_editor.parts_page",
        "book_editor.tables_page",
        "book_editor.table_page",
        "book_editor.new_table_page",
        "book_editor.add_table",
        "book_editor.questions_page",
        "book_editor.question_page",
        "book_editor.change_question",
        "book_editor.row_page",
        "book_editor.change_row",
        "book_editor.move_row",
        "book_editor.export",
        "book_editor.bring_in",
    }
)


def may(role: str | None, endpoint: str) -> bool:
    """Whether somebody with that role, or nobody (None), may ask for the endpoint."""
    if endpoint in ANYBODY:
        return True
    return role == "owner" or (role is not None and endpoint not in OWNER)
