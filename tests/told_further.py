"""Scenes of other sums (throwing away, missed, water, supplies ...); the right figure is worked out here."""

from __future__ import annotations

from datetime import datetime, timedelta
from math import ceil

from told_composer import Scene
from told_scenes import Scenes

EVENING = datetime(2026, 11, 24, 22, 15)
#: as the demo plans have it: mL of a container, of a day; free water; hours of hang time
CONTAINER = {"child_overnight_pump": 200, "adult_syringe": 330}
A_DAY = {"child_overnight_pump": 648 + 200 + 200, "adult_syringe": 3 * 330 + 495}
HANGS = {"child_overnight_pump": 6, "infant_powder": 2}
FREE_WATER, ORDERED, SYRINGE = 0.84, (72, 648), 60


class Further(Scenes):
    """Scenes whose tells are of more kinds than a run's."""

    def scene(self) -> Scene:
        return self.pick.choice((
            self.thrown_away, self.next_one, self.rate_for_hours, self.missed_in_all, self.behind, self.water,
            self.days_left, self.cartons, self.settings, self.syringes, self.per_kilo, self.of_the_order,
            self.ran_for_hours, self.another_rate_before, self.another_amount, self.started_late,
        ))()

    def thrown_away(self) -> Scene:
        plan, part = self.pick.choice((("child_overnight_pump", "hung_at"), ("infant_powder", "made_at")))
        at = EVENING - timedelta(minutes=5 * self.pick.randint(3, 20))
        name = "hung" if part == "hung_at" else "made"
        scene = Scene("thrown away", plan, EVENING)
        self.turn(scene, self.message([self.say(part, **{name: at})], self.say("ask_discard")),
                  ("discard_at", at + timedelta(hours=HANGS[plan])))
        return scene

    def next_one(self) -> Scene:
        hours, last = self.pick.choice((3, 4)), EVENING - timedelta(minutes=5 * self.pick.randint(6, 30))
        scene = Scene("the next one", "adult_syringe", EVENING)
        told = [self.say("every", hours=hours), self.say("last_one", last=last)]
        self.turn(scene, self.message(told, self.say("ask_next")), ("finish_at|next_at", last + timedelta(hours=hours)))
        return scene

    def rate_for_hours(self) -> Scene:
        run, hours = self.run(), self.pick.choice((6, 7, 8, 9))
        told = [self.say("meant", total=run.rate * hours), self.say("over_hours", hours=hours)]
        scene = Scene("rate for so many hours", run.plan, run.start)
        self.turn(scene, self.message(told, self.say("ask_rate_for")), ("rate", run.rate))
        if self.pick.random() < 0.4:
            self.turn(scene, self.say("f_other_hours", hours=hours + 1), ("rate", run.rate * hours / (hours + 1)))
        return scene

    def missed_in_all(self) -> Scene:
        missed, more = self.pick.choice((120, 150, 180)), self.pick.choice((40, 60, 90))
        scene = Scene("missed", "adult_syringe", EVENING)
        self.turn(scene, self.message([self.say("missed", missed=missed)], self.say("ask_behind")),
                  ("shortfall", missed))
        if self.pick.random() < 0.4:
            self.turn(scene, self.say("f_more_missed", missed=more), ("shortfall", missed + more))
        return scene

    def behind(self) -> Scene:
        run, off = self.run(), self.pick.choice((30, 40, 50))
        told = [self.say("pause_for", mins=off), self.say("rate", rate=run.rate)]
        scene = Scene("behind by a pause", run.plan, run.start + timedelta(hours=4))
        self.turn(scene, self.message(told, self.say("ask_behind")), ("shortfall", run.rate * off / 60))
        return scene

    def water(self) -> Scene:
        gone, flush = self.pick.choice((180, 240, 300)), self.pick.choice((40, 60, 80))
        told = [self.say("gone", gone=gone), self.say("flush_given", flush=flush)]
        scene = Scene("water", "child_overnight_pump", EVENING)
        self.turn(scene, self.message(told, self.say("ask_water")), ("water", gone * FREE_WATER + flush))
        return scene

    def days_left(self) -> Scene:
        plan, count = self.pick.choice(tuple(CONTAINER)), self.pick.choice((24, 48, 60, 72))
        of_a_day = A_DAY[plan]
        held = count * CONTAINER[plan]
        scene = Scene("days of supplies", plan, EVENING)
        self.turn(scene, self.message([self.say("count", count=count)], self.say("ask_days")),
                  ("days", (held / of_a_day, held / (of_a_day + 18))))  # with or without what fills the line
        return scene

    def cartons(self) -> Scene:
        total = self.pick.choice((500, 700, 900, 1100))
        scene = Scene("cartons", "adult_syringe", EVENING)
        self.turn(scene, self.message([self.say("meant", total=total)], self.say("ask_cartons")),
                  ("containers", ceil(total / CONTAINER["adult_syringe"])))
        return scene

    def settings(self) -> Scene:
        rate, amount = self.pick.choice((ORDERED, ORDERED, (27, 648), (72, 684), (62, 648)))
        scene = Scene("settings", "child_overnight_pump", datetime(2026, 11, 24, 20, 40))
        self.turn(scene, self.message([self.say("screen", rate=rate, amount=amount)], self.say("ask_check")),
                  ("matches", (rate, amount) == ORDERED))
        return scene

    def syringes(self) -> Scene:
        total, size = self.pick.choice((250, 280, 330)), self.pick.choice((20, 50, 60))
        told = [self.say("meant", total=total)]
        if size != SYRINGE:
            told.append(self.say("syringe_size", size=size))
        scene = Scene("syringes", "adult_syringe", EVENING)
        self.turn(scene, self.message(told, self.say("ask_syringes")), ("fills", ceil(total / size)))
        return scene

    def per_kilo(self) -> Scene:
        total, kilos = self.pick.choice((900, 1000, 1200)), self.pick.choice((18, 20, 24))
        told = [self.say("meant", total=total), self.say("weight", kg=kilos)]
        scene = Scene("per kilo", "child_overnight_pump", EVENING)
        self.turn(scene, self.message(told, self.say("ask_per_kilo")), ("volume", total / kilos))
        return scene

    def of_the_order(self) -> Scene:
        run, gone = self.run(), self.pick.choice((120, 155, 230))
        total = 560 if run.plan.startswith("child") else 980
        scene = Scene("left of the order", run.plan, run.start + timedelta(hours=4))
        told = [self.say("meant", total=total), self.say("gone", gone=gone)]
        self.turn(scene, self.message(told, self.say("ask_remaining")), ("remaining", total - gone))
        return scene

    def ran_for_hours(self) -> Scene:
        run, hours = self.run(), self.pick.choice((2, 3, 4, 5))
        told = [self.say("ran_for", hours=hours), self.say("rate", rate=run.rate)]
        scene = Scene("ran for hours", run.plan, run.start + timedelta(hours=hours))
        self.turn(scene, self.message(told, self.say("ask_delivered")), ("delivered", hours * run.rate))
        return scene

    def another_rate_before(self) -> Scene:
        run, left = self.run(), self.pick.choice((180, 240, 310))
        told = [self.say("left", left=left), self.say("rate", rate=run.rate),
                self.say("rate_before", rate=run.rate - 14)]
        scene = Scene("another rate before", run.plan, run.start + timedelta(hours=4))
        self.turn(scene, self.message(told, self.say("ask_duration")), ("duration", left / run.rate))
        return scene

    def another_amount(self) -> Scene:
        run, left = self.run(), self.pick.choice((180, 240, 310))
        told = [self.say("left", left=left), self.say("rate", rate=run.rate), self.say("amount_other", amount=425)]
        scene = Scene("another amount beside it", run.plan, run.start + timedelta(hours=4))
        self.turn(scene, self.message(told, self.say("ask_duration")), ("duration", left / run.rate))
        return scene

    def started_late(self) -> Scene:
        late = self.pick.choice((20, 35, 50))
        scene = Scene("started late", "child_overnight_pump", EVENING)
        self.turn(scene, self.message([self.say("late", mins=late)], self.say("ask_finish")),
                  ("finish_at", datetime(2026, 11, 25, 5, 45) + timedelta(minutes=late)))
        return scene
