"""What the shop refuses, each with a sentence for whoever asked; `web` gives each its status."""

from __future__ import annotations


class ServiceError(Exception):
    """Nothing was changed, and the sentence says why."""


class InvalidRequestError(ServiceError):
    """What was asked is not among what there is to ask."""


class NotFoundError(ServiceError):
    """There is none, or there is none any more."""


class GoneError(ServiceError):
    """It was there, and never will be again."""


class ConflictError(ServiceError):
    """It changed while somebody was looking at it."""
