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
        "operation.healthz",
        "operation.show_metrics",
        "counter.ping",
        "counter.manifest",
        "counter.worker",
        "counter.offline",
        "counter.install_page",
        "counter.sign_in",
        "counter.pin_page",
        "counter.give_pin",
        "counter.password_page",
        "counter.give_password",
        "counter.sign_out",
        "counter.enrol_page",
        "counter.enrol",
        "counter.set_up_page",
        "counter.set_up",
        "counter.trust_page",
        "counter.trust_file",
        "customer.quote",
        "customer.seen",
        "customer.choose",
        "customer.question",
        "customer.say_yes",
        "customer.say_no",
        "customer.ready",
        "customer.pdf",
        "customer.photo",
    }
)
OWNER = frozenset(
    {
        "post.privacy_page",
        "post.hand_out",
        "post.forget",
        "counter.people_page",
        "counter.offer_enrolment",
        "counter.bring_page",
        "counter.settle_phone",
        "counter.add_staff",
        "counter.give_new_pin",
        "counter.settle_staff",
        "counter.change_password",
        "owner.overview",
        "owner.take_back",
        "owner.effect_page",
        "owner.save",
        "owner.drop",
        "owner.money_page",
        "owner.change_money",
        "owner.hours_page",
        "owner.change_hours",
        "owner.jobs_page",
        "owner.parts_page",
        "owner.tables_page",
        "owner.table_page",
        "owner.row_page",
        "owner.change_row",
        "owner.move_row",
        "owner.export",
        "owner.bring_in",
    }
)


def may(role: str | None, endpoint: str) -> bool:
    """Whether somebody with that role, or nobody (None), may ask for the endpoint."""
    if endpoint in ANYBODY:
        return True
    return role == "owner" or (role is not None and endpoint not in OWNER)
