"""The other calculations of ``sumpside mix``."""

from __future__ import annotations

from advisor.mix_command import Command

CALCULATIONS: tuple[Command, ...] = ()
