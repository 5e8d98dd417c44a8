"""Suspicions that the words themselves explain: a dose only asked for, a reminder for insulin, a bag told as hung.

Rules over signs are not touched by this. Each kind has its words and, beside them, those by which it is no longer so.
"""

from __future__ import annotations

from assistant.danger.here_and_now import told

DOSE = frozenset({"poisoning", "medicine_error"})
TUBE_OUT = frozenset({"tube_out", "tube_out_new", "tube_out_jejunal", "tube_out_nasal"})
EVERY: frozenset[str] = frozenset()  # whatever was suspected
KINDS = (
    ("dose_asked", "dose_taken", DOSE),
    ("dose_of_other", "dose_taken", frozenset({"carer_crisis"})),
    ("given_asked", "given_wrong", DOSE),
    ("reminder_asked", "low_now", frozenset({"low_sugar"})),
    ("length_asked", "length_off", TUBE_OUT),
    ("put_in_asked", "length_off", TUBE_OUT),
    ("undone_told", "of_a_life", frozenset({"carer_crisis"})),
    ("lab_value", "body_heat", frozenset({"fever"})),
    ("water_sum_asked", "water_wrong", frozenset({"infant_mixing"})),
    ("thing_meant", None, EVERY),
    ("form_asked", "form_given", DOSE),
    ("washed_asked", "soap_in", frozenset({"poisoning"})),
    ("fuse_told", "fuse_worse", frozenset({"fire_smoke"})),
    ("spilt_told", "spilt_hot", frozenset({"burn", "poisoning"})),
    ("room_heat", "body_heat", frozenset({"fever"})),
    ("asleep_on_me", "asleep_worse", frozenset({"stroke_heart", "unresponsive"})),
    ("hung_told", None, frozenset({"overfeed"})),
    ("fever_asked", "fever_felt", frozenset({"fever"})),
    ("heat_normal", "fever_felt", frozenset({"fever"})),
    ("battery_ordered", "battery_loose", frozenset({"button_battery"})),
    ("day_asked", "once_more", EVERY),
    ("amount_instead", "mark_off", EVERY),
    ("noise_steady", "noise_worse", frozenset({"pump_failure"})),
    ("print_asked", "print_off", TUBE_OUT),
    ("ahead_asked", "ahead_after_all", TUBE_OUT),
    ("tugs_told", "tug_worse", TUBE_OUT | {"seizure", "tube_broken", "cord_neck"}),
    ("by_mouth_told", "by_mouth_wrong", frozenset({"poisoning"})),
    ("mix_ahead_asked", "mix_done", frozenset({"overfeed", "infant_mixing"})),
    ("nose_blocked", "nose_worse", TUBE_OUT),
    ("hurried_push", None, frozenset({"carer_crisis"})),
    ("line_kinked", "line_worse", frozenset({"seizure"})),
    ("as_on_paper", "not_as_on_paper", frozenset({"overfeed", "medicine_error"})),
    ("only_queasy", "queasy_worse", frozenset({"vomiting_persistent", "vomit_small", "green_vomit"})),
    ("not_that_colour", "that_colour", frozenset({"green_vomit", "bleeding"})),
    ("asleep_fed", "asleep_ill", EVERY),
    ("had_medicine", "medicine_amiss", frozenset({"medicine_error"})),
    ("meds_told", None, frozenset({"medicine_error"})),
    ("pop_back", "of_despair_too", frozenset({"carer_crisis"})),
    ("sick_on_clothes", "clothes_red", frozenset({"bleeding"})),
)


def as_meant(suspected: set[str], text: str) -> set[str]:
    """`suspected` without the cards that the kind of the words explains."""
    for kind, unless, cards in KINDS:
        if suspected and told(kind, text) and not (unless and told(unless, text)):
            suspected = suspected - (cards or suspected)
    return suspected


#: how it is done, asked beforehand: the card as it usually is, not as where the plan makes a failed check grave
ASKED_HOW = {"placement_check": ("check_asked", "check_failed")}


def how_it_is_done(card: str, text: str) -> bool:
    """Is only how to do it asked ("how is the nose tube checked before a feed?"), and no trouble told?"""
    asked, failed = ASKED_HOW.get(card, (None, ""))
    return asked is not None and told(asked, text) and not told(failed, text)
