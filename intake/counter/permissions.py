"""Who may ask for what: the one table. An address that stands in neither list is for staff, so that one added
later is closed until somebody opens it.

| addresses                                               | nobody | counter, bench | owner |
|---------------------------------------------------------|--------|----------------|-------|
| the app's own files, the page for when there is no line | yes    | yes            | yes   |
| health; metrics (to this machine alone)                 | yes    | yes            | yes   |
| signing in and out, enrolling, the first set-up         | yes    | yes            | yes   |
| a customer's link (the key stands in the address)       | yes    | yes            | yes   |
| board, wizard, photos, quotes, sending, the yes         | no     | yes            | yes   |
| people and phones                                       | no     | no             | yes   |

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
        "counter.people_page",
        "counter.offer_enrolment",
        "counter.settle_phone",
        "counter.add_staff",
        "counter.give_new_pin",
        "counter.settle_staff",
        "counter.change_password",
    }
)


def may(role: str | None, endpoint: str) -> bool:
    """Whether somebody with that role, or nobody (None), may ask for the endpoint."""
    if endpoint in ANYBODY:
        return True
    return role == "owner" or (role is not None and endpoint not in OWNER)
