"""What a pump's accuracy makes of a time or of a delivered volume: earliest and latest, least and most."""

from __future__ import annotations

from rules.quantity import Quantity, number


def time_spread(time: Quantity, accuracy: Quantity | None) -> tuple[Quantity | None, Quantity | None]:
    """Shortest and longest running time (h): v / (r * (1 + a)) and v / (r * (1 - a))."""
    if accuracy is None:
        return None, None
    return (time / (1 + number(accuracy, "1"))).to("h"), (time / (1 - number(accuracy, "1"))).to("h")


def volume_spread(
    volume: Quantity, accuracy: Quantity | None, most: Quantity | None = None
) -> tuple[Quantity | None, Quantity | None]:
    """Least and most that a pump may have given (mL), never above `most`."""
    if accuracy is None:
        return None, None
    low = (volume * (1 - number(accuracy, "1"))).to("mL")
    high = (volume * (1 + number(accuracy, "1"))).to("mL")
    return low, high if most is None else min(high, most.to("mL"))
