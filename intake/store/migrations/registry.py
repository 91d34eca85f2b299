"""The list of changes that made the schema, each under a name that never changes."""

from __future__ import annotations

from sqlite_utils.migrations import Migrations

MIGRATIONS = Migrations("tallyfret")
