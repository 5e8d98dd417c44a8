"""Judge the language layer by writer: each group of writers is judged by weights fitted on all the others.

    python tests/benchmarks/peers/by_writer.py [GROUPS]      default: five groups of three of the writers a to o
Right: the first label is the line's (or one that carries the same help). Danger heard: a danger card comes first, or
the danger cards together reach the threshold. Prints the threshold at which 3 % of calm lines would raise an alarm.
"""

from __future__ import annotations

import sys

import numpy as np
from fit_language import SHARPNESS, Phrase, fit, load_phrases

GROUPS = ("adn", "beg", "cfo", "hil", "jkm")
DANGER = frozenset({
    "cant_breathe", "choking", "blue_lips", "unresponsive", "seizure", "allergy", "tube_in_airway", "wrong_line",
    "bleeding", "low_sugar", "cord_neck", "button_battery", "poisoning", "sepsis", "stroke_heart", "injury",
    "fire_smoke", "carer_crisis", "panic", "tube_out_new", "tube_out", "tube_out_jejunal", "tube_out_nasal",
    "new_tube_signs", "belly_hard", "green_vomit", "vomiting_persistent", "dehydration", "fever", "overfeed",
    "medicine_error", "wrong_formula", "infant_mixing", "refeeding", "buried_bumper", "tube_broken", "foreign_body",
    "burn", "power_out", "pump_failure", "tracheostomy", "site_infection", "fainting",
})
SAME = (
    {"bag_duration", "finish_at"}, {"delivered", "remaining"}, {"remaining", "bag_duration"},
    {"discard_at", "caution:left_hanging"}, {"opened_until", "caution:expired"},
    {"catch_up", "caution:missed_feed"}, {"flush", "plan_lookup"}, {"guide", "caution:medicine_by_tube"},
    {"log_symptom", "caution:vomit_small"},
)
CALM_ALARMS = 0.03


def softmax(scores: np.ndarray) -> np.ndarray:
    raised = np.exp(scores - scores.max(1, keepdims=True))
    return raised / raised.sum(1, keepdims=True)


def is_danger(label: str) -> bool:
    return label.partition(":")[2] in DANGER


def right_labels(phrase: Phrase) -> set[str]:
    return phrase.also.union(*(same for same in SAME if same & phrase.also))


def judged(phrases: list[Phrase], labels: list[str], scores: np.ndarray) -> dict[str, np.ndarray]:
    """What the measures are taken from, one value a line."""
    shares = softmax(scores * SHARPNESS)
    order = np.argsort(-shares, axis=1)[:, :3]
    wanted = [right_labels(phrase) for phrase in phrases]
    grave = np.array([is_danger(label) for label in labels])
    return {
        "right": np.array([labels[row[0]] in want for row, want in zip(order, wanted, strict=True)]),
        "first three": np.array([
            any(labels[at] in want for at in row) for row, want in zip(order, wanted, strict=True)]),
        "p": shares.max(1), "danger p": shares[:, grave].sum(1), "danger first": grave[order[:, 0]],
        "danger": np.array([is_danger(p.label) for p in phrases]),
        "calm": np.array([not p.label.startswith("caution:") for p in phrases]),
        "outside": np.array([p.label == "out_of_scope" for p in phrases]),
        "called outside": np.array([labels[row[0]] == "out_of_scope" for row in order]),
        "loss": -np.log(np.maximum(shares[range(len(phrases)), [labels.index(p.label) for p in phrases]], 1e-9)),
    }


def report(name: str, found: dict[str, np.ndarray], threshold: float) -> str:
    heard = (found["danger first"] | (found["danger p"] >= threshold))[found["danger"]]
    alarms = (found["danger first"] | (found["danger p"] >= threshold))[found["calm"]]
    outside = found["outside"]
    return (f"{name:>8}: right {found['right'].mean():.1%}, in first three {found['first three'].mean():.1%}, "
            f"danger heard {heard.mean():.1%} (calm alarms {alarms.mean():.1%}), "
            f"outside taken up {1 - found['right'][outside].mean():.1%}, "
            f"inside called outside {found['called outside'][~outside].mean():.1%}, loss {found['loss'].mean():.3f}")


def calibration(found: dict[str, np.ndarray]) -> str:
    """For each band of the first label's probability: how many lines, and how many of them right."""
    lines = []
    for low in (0, .1, .2, .3, .4, .5, .6, .7, .8, .9):
        band = (found["p"] >= low) & (found["p"] < low + .1 + (low == .9))
        if band.any():
            lines.append(f"p {low:.1f}: {band.mean():5.1%} of lines, p {found['p'][band].mean():.2f}, "
                         f"right {found['right'][band].mean():.2f}")
    return "\n".join(lines)


def main(groups: tuple[str, ...]) -> None:
    phrases = load_phrases()
    found: list[tuple[str, list[Phrase], list[str], np.ndarray]] = []
    for group in groups:
        held = [p for p in phrases if p.writer in group]
        fitted = fit([p for p in phrases if p.writer not in group])
        found.append((group, held, fitted.labels, fitted.scores(p.bag for p in held)))
        print(report(group, judged(held, fitted.labels, found[-1][3]), 1.0), flush=True)
    parts = [judged(held, labels, scores) for _, held, labels, scores in found]
    together = {key: np.concatenate([part[key] for part in parts]) for key in parts[0]}
    threshold = float(np.quantile(together["danger p"][together["calm"]], 1 - CALM_ALARMS))
    print(f"danger threshold for {CALM_ALARMS:.0%} calm alarms: {threshold:.3f}")
    letters = np.array([p.writer for _, held, _, _ in found for p in held])
    for writer in sorted(set(letters)):
        print(report(writer, {key: value[letters == writer] for key, value in together.items()}, threshold))
    print(report("all", together, threshold))
    print(calibration(together))


if __name__ == "__main__":
    main(tuple(sys.argv[1:]) or GROUPS)
