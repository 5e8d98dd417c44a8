"""Scenes of a feed that runs: what is told and asked, and the right figure, worked out here, not by the program."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from told_composer import Composer, Scene, Wanted

LINE = {"child_overnight_pump": 18, "adult_jejunal_cycle": 27}  # mL that fill a dry line, as the demo plans have it
STRENGTH = {"child_overnight_pump": 1.0, "adult_jejunal_cycle": 1.5, "adult_syringe": 1.2}  # kcal/mL, as they have it


@dataclass(frozen=True)
class Run:
    """A feed that runs: numbers near the plan's, so that no question about a slip is due."""

    plan: str
    start: datetime
    rate: int
    hung: int
    off: int = 0  # minutes

    def gone(self, until: datetime) -> float:
        return self.rate * ((until - self.start).total_seconds() / 60 - self.off) / 60

    @property
    def end(self) -> datetime:
        """What was hung fresh on a dry set fills the line first."""
        return self.start + timedelta(minutes=(self.hung - LINE[self.plan]) / self.rate * 60 + self.off)

    def figure(self, asked: str, now: datetime) -> Wanted:
        gone = self.gone(now)
        wanted: dict[str, Wanted] = {"delivered": ("delivered", gone), "remaining": ("remaining", self.hung - gone),
                                     "finish": ("finish_at", self.end)}
        return wanted[asked]


class Scenes(Composer):
    """Scenes of a run, each drawn anew."""

    def scene(self) -> Scene:
        return self.pick.choice((
            self.ran_so_far, self.ran_so_far, self.what_is_left, self.what_is_left, self.gone_of_hung, self.start_by,
            self.rate_needed, self.two_meals, self.it_stopped, self.energy_of,
        ))()

    def run(self) -> Run:
        minutes = 5 * self.pick.randint(-6, 12)
        if self.pick.random() < 0.5:
            start = datetime(2026, 11, 24, 20, 45) + timedelta(minutes=minutes)
            rate, hung = self.pick.choice((60, 64, 66, 70, 72, 76)), self.pick.choice((520, 560, 600, 648))
            return Run("child_overnight_pump", start, rate, hung)
        start = datetime(2026, 11, 24, 17, 0) + timedelta(minutes=minutes)
        rate, hung = self.pick.choice((70, 76, 80, 84, 90)), self.pick.choice((900, 980, 1000, 1344))
        return Run("adult_jejunal_cycle", start, rate, hung)

    def ran_so_far(self) -> Scene:
        run = self.run()
        now = run.start + timedelta(minutes=5 * self.pick.randint(30, 66))
        told = [self.say("start", start=run.start), self.say("rate", rate=run.rate)]
        drawn = self.pick.random()
        if drawn < 0.4:
            run = Run(run.plan, run.start, run.rate, run.hung, self.pick.choice((20, 25, 40, 45, 50)))
            told.append(self.say("pause_for", mins=run.off))
        elif drawn < 0.64:
            run = Run(run.plan, run.start, run.rate, run.hung, self.pick.choice((20, 30, 45, 50)))
            began = run.start + timedelta(minutes=5 * self.pick.randint(6, 14))
            told.append(self.say("pause_span", off=began, on=began + timedelta(minutes=run.off)))
        asked = self.pick.choice(("delivered", "remaining", "finish"))
        if asked != "delivered":
            told.append(self.say("hung", amount=run.hung))
        if self.pick.random() < 0.3:
            told.append(self.say("now_is", now=now))
        scene = Scene(f"ran so far: {asked}", run.plan, now)
        self.turn(scene, self.message(told, self.say(f"ask_{asked}")), run.figure(asked, now))
        self._and_then(scene, run, asked)
        return scene

    def _and_then(self, scene: Scene, run: Run, asked: str) -> None:
        """A value put right, a pause remembered, another figure of the same run."""
        follow = self.pick.choice(("", "correct_rate", "correct_start", "pause", "remaining", "delivered"))
        if follow == "correct_rate":
            other = Run(run.plan, run.start, run.rate + self.pick.choice((-4, 3, 4)), run.hung, run.off)
            self.turn(scene, self.say("f_correct_rate", rate=other.rate), other.figure(asked, scene.now))
        elif follow == "correct_start":
            later = run.start + timedelta(minutes=self.pick.choice((-20, 15, 30)))
            other = Run(run.plan, later, run.rate, run.hung, run.off)
            self.turn(scene, self.say("f_correct_start", start=later), other.figure(asked, scene.now))
        elif follow == "pause" and not run.off:
            other = Run(run.plan, run.start, run.rate, run.hung, self.pick.choice((20, 30, 45)))
            self.turn(scene, self.say("f_pause", mins=other.off), other.figure(asked, scene.now))
        elif (follow, asked) in (("remaining", "finish"), ("delivered", "remaining")):
            self.turn(scene, self.say(f"f_{follow}"), run.figure(follow, scene.now))

    def what_is_left(self) -> Scene:
        run = self.run()
        now = run.start + timedelta(hours=self.pick.randint(2, 4), minutes=self.pick.randint(0, 59))
        left = self.pick.choice((180, 210, 240, 260, 310, 350))
        told = [self.say("left", left=left), self.say("rate", rate=run.rate)]
        if self.pick.random() < 0.2:
            told.append(self.say("start", start=run.start))
        if self.pick.random() < 0.2:
            told.append(self.say("now_is", now=now))
        asked = self.pick.choice(("duration", "finish"))
        scene = Scene(f"what is left: {asked}", run.plan, now)

        def wanted(amount: int, rate: int) -> Wanted:
            hours = amount / rate
            return ("duration", hours) if asked == "duration" else ("finish_at", now + timedelta(hours=hours))

        self.turn(scene, self.message(told, self.say(f"ask_{asked}")), wanted(left, run.rate))
        follow = self.pick.choice(("", "finish", "energy", "rate", "amount", "correct_rate", "correct_amount"))
        other_rate, other_left = run.rate + self.pick.choice((-5, -4, 3)), left + self.pick.choice((-60, 30, 50))
        if follow == "finish" and asked == "duration":
            self.turn(scene, self.say("f_finish"), ("finish_at", now + timedelta(hours=left / run.rate)))
        elif follow == "energy":
            self.turn(scene, self.say("f_energy"), ("energy", left * STRENGTH[run.plan]))
        elif follow.endswith("rate"):
            self.turn(scene, self.say(f"f_{follow}", rate=other_rate), wanted(left, other_rate))
        elif follow.endswith("amount"):
            self.turn(scene, self.say(f"f_{follow}", amount=other_left), wanted(other_left, run.rate))
        return scene

    def gone_of_hung(self) -> Scene:
        run = self.run()
        now = run.start + timedelta(hours=3, minutes=self.pick.randint(0, 50))
        gone = self.pick.choice((120, 155, 180, 230, 260))
        told = [self.say("hung", amount=run.hung), self.say("gone", gone=gone)]
        asked = self.pick.choice(("remaining", "remaining", "duration"))
        if asked == "duration":
            told.append(self.say("rate", rate=run.rate))
        hours = (run.hung - LINE[run.plan] - gone) / run.rate
        wanted = {"remaining": ("remaining", run.hung - gone), "duration": ("duration", hours)}[asked]
        scene = Scene(f"gone of hung: {asked}", run.plan, now)
        self.turn(scene, self.message(told, self.say(f"ask_{asked}")), wanted)
        if asked == "duration" and self.pick.random() < 0.5:
            self.turn(scene, self.say("f_finish"), ("finish_at", now + timedelta(hours=hours)))
        return scene

    def start_by(self) -> Scene:
        run = self.run()
        child = run.plan.startswith("child")
        by = run.start + timedelta(hours=12 if child else 17, minutes=5 * self.pick.randint(0, 6))
        hung = 560 if child else 980
        told = [self.say("hung", amount=hung), self.say("rate", rate=run.rate), self.say("deadline", by=by)]
        scene = Scene("start by", run.plan, run.start - timedelta(hours=5))
        self.turn(scene, self.message(told, self.say("ask_start_by")),
                  ("start_at", by - timedelta(hours=hung / run.rate)))
        return scene

    def rate_needed(self) -> Scene:
        run, hours = self.run(), self.pick.choice((3, 4, 5))
        now = (run.start + timedelta(hours=4)).replace(minute=0)
        told = [self.say("left", left=hours * run.rate), self.say("deadline", by=now + timedelta(hours=hours))]
        scene = Scene("rate needed", run.plan, now)
        self.turn(scene, self.message(told, self.say("ask_rate_needed")), ("rate", run.rate))
        return scene

    def two_meals(self) -> Scene:
        first, second = self.pick.sample((150, 180, 220, 250, 280, 310, 330), 2)
        asked = self.pick.choice(("total", "energy"))
        scene = Scene(f"two meals: {asked}", "adult_syringe", datetime(2026, 11, 24, 20, self.pick.randint(0, 59)))
        energy: tuple[str, Any] = ("energy", (first + second) * STRENGTH[scene.plan])
        wanted = ("delivered", first + second) if asked == "total" else energy
        self.turn(scene, self.message([self.say("meals", a=first, b=second)], self.say(f"ask_{asked}")), wanted)
        if asked == "total" and self.pick.random() < 0.5:
            self.turn(scene, self.say("f_energy"), energy)
        return scene

    def it_stopped(self) -> Scene:
        run = self.run()
        stop = run.start + timedelta(minutes=5 * self.pick.randint(30, 60))
        told = [self.say("start", start=run.start), self.say("rate", rate=run.rate), self.say("stopped", stop=stop)]
        if self.pick.random() < 0.3:
            run = Run(run.plan, run.start, run.rate, run.hung, self.pick.choice((20, 25, 40)))
            told.append(self.say("pause_for", mins=run.off))
        scene = Scene("it stopped", run.plan, stop + timedelta(minutes=self.pick.randint(10, 90)))
        self.turn(scene, self.message(told, self.say("ask_delivered")), ("delivered", run.gone(stop)))
        if self.pick.random() < 0.4:
            self.turn(scene, self.say("f_energy"), ("energy", run.gone(stop) * STRENGTH[run.plan]))
        return scene

    def energy_of(self) -> Scene:
        run, gone = self.run(), self.pick.choice((120, 185, 230, 340))
        scene = Scene("energy of what went in", run.plan, run.start + timedelta(hours=4))
        self.turn(scene, self.message([self.say("gone", gone=gone)], self.say("ask_energy")),
                  ("energy", gone * STRENGTH[run.plan]))
        return scene
