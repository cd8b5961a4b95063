"""Readings of a sump as a PNG picture, where matplotlib is installed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from advisor.errors import BadInput
from advisor.showing import HERE


@dataclass(frozen=True, slots=True)
class Panel:
    """One figure over time: points, limits (None where open), marked events as (time, letter), a legend."""

    title: str
    times: Sequence[datetime]
    values: Sequence[float]
    limits: Sequence[float | None]
    events: Sequence[tuple[datetime, str]]
    legend: str = ""


def draw(panels: Sequence[Panel], file: Path) -> None:
    """Draw panels below each other into a PNG file.

    Raises:
        BadInput: matplotlib is not installed, or the file cannot be written.
    """
    try:
        from matplotlib.figure import Figure
    except ImportError:
        right = "Install matplotlib (the extra \"pictures\"), or use --svg, which needs nothing."
        raise BadInput("a PNG picture needs matplotlib, which is not installed", right=right) from None
    figure = Figure(figsize=(8, 2.6 * len(panels)), layout="constrained")
    grid = figure.subplots(len(panels), 1, squeeze=False)
    for axes, panel in zip(grid[:, 0], panels, strict=True):
        axes.xaxis_date(HERE)  # hours of the shop, not of Greenwich
        axes.plot(panel.times, panel.values, "o-", markersize=3, linewidth=0.8)
        out = [place for place, value in enumerate(panel.values) if _outside(value, panel.limits)]
        axes.plot([panel.times[n] for n in out], [panel.values[n] for n in out], "s", color="tab:red")
        axes.set_title(panel.title, parse_math=False)
        axes.set_xlabel(panel.legend, fontsize=8, parse_math=False)
        for limit in panel.limits:
            if limit is not None:
                axes.axhline(limit, linestyle="--", linewidth=0.8, color="tab:red")
        for time, letter in panel.events:
            axes.axvline(time, linestyle=":", linewidth=0.6, color="grey")
            axes.annotate(letter, (time, 0), xycoords=("data", "axes fraction"), fontsize=8)
    try:
        figure.savefig(file, format="png", dpi=120)
    except OSError as error:
        what, right = f"{file} cannot be written ({error.strerror})", "Name a file that can be."
        raise BadInput(what, value=str(file), right=right) from error


def _outside(value: float, limits: Sequence[float | None]) -> bool:
    low, high = limits
    return (low is not None and value < low - 1e-9) or (high is not None and value > high + 1e-9)
