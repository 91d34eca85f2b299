"""Who may come in: signing in, enrolling phones, staff, the first start, trust in the certificate."""

from intake.screens.access import enrolment, people, set_up, sign_in, trust
from intake.screens.access.blueprint import blueprint

__all__ = ["blueprint", "enrolment", "people", "set_up", "sign_in", "trust"]
