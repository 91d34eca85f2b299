"""The whole schema: every module that adds changes to it, in the order in which they were released."""

from __future__ import annotations

from intake.store.migrations.plans import MIGRATIONS

__all__ = ["MIGRATIONS"]
