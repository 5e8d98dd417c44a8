"""Are `assistant`, `rules` and `knowledge` still ours? Registry packages of those names would overwrite them."""

from __future__ import annotations

from pathlib import Path

MARKS = {"rules": "quantity.py", "knowledge": "library.py", "assistant": "answer.py"}


def overwritten() -> str | None:
    """One line that names the package another distribution has overwritten; None when all three are ours."""
    import importlib.util

    for name, mark in MARKS.items():
        spec = importlib.util.find_spec(name)
        places = [Path(p) for p in spec.submodule_search_locations or ()] if spec else []
        ours = Path(__file__).resolve().parents[1] / name
        first = (ours / "__init__.py").read_text(encoding="utf-8") if (ours / "__init__.py").exists() else None
        if (
            not places
            or ours not in [p.resolve() for p in places]
            or not (ours / mark).exists()
            or first is None
            or len(first) > 2000
        ):
            return (
                f"The Python package {name!r} found here is not Bagside's: another package has overwritten it. "
                "Install Bagside into an environment of its own (README, Install)."
            )
    return None
