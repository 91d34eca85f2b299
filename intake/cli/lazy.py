"""A group whose commands are imported when they are asked for: each needs other parts of the program."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import import_module
from typing import Any

import click


class LazyGroup(click.Group):
    """`places` says where each command lives: name → `module:command`."""

    def __init__(self, *args: Any, places: Mapping[str, str], **options: Any) -> None:
        super().__init__(*args, **options)
        self.places = places

    def list_commands(self, ctx: click.Context) -> list[str]:
        return sorted(self.places)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        if cmd_name not in self.places:
            return None
        module, _, name = self.places[cmd_name].partition(":")
        command: click.Command = getattr(import_module(module), name)
        return command
