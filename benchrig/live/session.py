"""One session at the bench, from the first prompt to the record: samples in, views out, everything kept.

The doors call `step` again and again, and `finish` once, at whatever moment. Rows are stored before anything is shown
of them.
"""

from __future__ import annotations

import time as clocks
from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from benchrig.capture.beside import SecondSource
from benchrig.capture.device.samples import Source, Trouble
from benchrig.capture.recording import Recording
from benchrig.declaration.airframe import Airframe
from benchrig.errors import BenchrigError, Problem, StoreError
from benchrig.live.asking import Asking, Guided
from benchrig.live.closing import Finished, judged_from_disk, nothing_came
from benchrig.live.evidence import Evidence
from benchrig.live.intake import Intake
from benchrig.live.judging import Judging, Snapshot
from benchrig.live.keeping import Keeping
from benchrig.live.leading import Guide, Leading, Script
from benchrig.live.occasion import Occasion
from benchrig.live.opinion import Opinion, snapshot_of
from benchrig.live.showing import view_of
from benchrig.live.state import Around, Change
from benchrig.live.view import QUIT, Cue, Question, Step, View
from benchrig.live.watch import Sensed
from benchrig.live.words import questions_for


class Session:
    """A recording that guides, stores and judges while it runs.

    Parameters
    ----------
    airframe : Airframe
    source : Source
        Not yet open.
    occasion : Occasion
        From `occasion_of` or `occasion_again`.
    out : Path
        Folder and NAME: ``NAME.arrow`` and ``NAME.toml`` are made.
    asking : Asking or Script, optional
        `Guided` where nothing else is said, `Fixed` for a list of motions, `script_of` a manifest to play it again.
    pulses : SecondSource, optional
        Not yet open.
    clock : callable
        Gives s; for the rate of the samples, and for how long the store may refuse.
    judging : Judging, optional
        The judge; a thread of its own where nothing else is said.
    force : bool
        Whether files that this did not make may be replaced.

    Attributes
    ----------
    airframe : Airframe
    manifest : Path
    """

    def __init__(
        self,
        airframe: Airframe,
        source: Source,
        occasion: Occasion,
        out: Path,
        *,
        asking: Asking | Script | None = None,
        pulses: SecondSource | None = None,
        clock: Callable[[], float] = clocks.monotonic,
        judging: Judging | None = None,
        force: bool = False,
    ) -> None:
        self.airframe = airframe
        self._source, self._second = source, pulses
        self._keeping = Keeping(out, occasion, airframe, pulses, clock=clock, force=force)
        self.manifest = self._keeping.manifest
        self._lead: Leading = asking if isinstance(asking, Script) else Guide()
        self._asking: Asking = Guided(airframe) if asking is None or isinstance(asking, Script) else asking
        self._opinion = Opinion(airframe, judging or Judging(airframe))
        self._intake = Intake(self._keeping, clock)
        self._state = self._lead.begin()
        self._told = self._state.evidence
        effects = {actuator.name: actuator.effect for actuator in airframe.actuators}
        self._around = Around(self._asking, (), airframe.sensor.body_from_sensor, effects=effects)
        self._sensed: Sensed | None = None
        self._opened = self._is_open = False
        self._finished: Finished | None = None

    @property
    def finished(self) -> bool:
        """Whether nothing more will be asked for: time for `finish`."""
        return self._state.phase == "finished"

    @property
    def evidence(self) -> Evidence:
        """What was asked for, made, seen and taken back so far."""
        return self._state.evidence

    def open(self) -> None:
        """Open the source and make the files; `step` does it where nobody has.

        Raises
        ------
        UsageError
            If a file is in the way.
        PortError
            If there is nothing to record from.
        StoreError
            If the files cannot be made.
        """
        if self._opened:
            return
        self._opened = True
        self._keeping.refuse_others()
        self._source.open()
        if self._second is not None:
            self._second.open()
        if self._source.columns:
            self._begin()
        self._is_open = True

    def _begin(self) -> None:
        """Make the files, as soon as the source's columns are known."""
        if self._second is not None:
            self._second.refuse_shared(self._source.columns)
        described = self._keeping.begin(self._source, self._state.evidence, self._lead.routine)
        self._intake.begin(described, self._source.columns)
        self._around = replace(self._around, questions=self._questions())

    def _questions(self) -> tuple[Question, ...]:
        """Ask about the actuators whose pulses neither source has."""
        second = {} if self._second is None else self._second.columns_document()
        recorded = {*self._keeping.actuators, *second.get("actuators", {})}
        return questions_for(self.airframe, recorded)

    def step(self, keys: Sequence[str] = (), timeout: float = 0.05) -> Step:
        """Go on by a moment.

        Parameters
        ----------
        keys : sequence of str
            Pressed since the step before: REPEAT, BACK, QUIT, NEXT, or the key of an answer.
        timeout : float, s
            To wait for samples.
        """
        self.open()
        self._catch_up()
        cues: list[Cue] = []
        shown = self._state
        for key in keys:
            # what is pressed together was pressed at what was shown: none of it answers what comes after
            if key == QUIT or self._state.asks_as(shown):
                self._apply(self._lead.press(self._state, key, self._around), cues)
        self._hear(timeout)
        self._listen()
        looked = False
        for sensed in self._intake.ready():
            self._sensed, looked = sensed, True
            self._apply(self._lead.sense(self._state, sensed, self._around), cues)
        if not looked and self._state.phase == "judging" and self._sensed is not None:
            self._apply(self._lead.sense(self._state, self._sensed, self._around), cues)
        if not self.finished and (why := self._cut_short()):
            self._apply(self._lead.stop(self._state, why), cues)
        cues += [Cue.TROUBLE] * self._intake.news()
        return Step(self._view(), tuple(cues))

    def _hear(self, timeout: float) -> None:
        """Take what has come, and store it."""
        for item in self._source.take(timeout):
            if isinstance(item, Trouble):
                self._intake.trouble(item)
                continue
            if not self._keeping.is_begun:
                self._begin()
            if self._second is not None:
                self._second.hear(item, self._source.opened)
            self._intake.take(item)
        self._intake.flush()
        if self._second is not None:
            for trouble in self._second.drain():
                self._intake.trouble(trouble, "pulses")

    def _cut_short(self) -> str:
        """Say why the session cannot go on; empty where it can."""
        if self._intake.gave_up:
            return "nothing more can be stored; what was stored is kept"
        if not self._source.ended:
            return ""
        return "the source has ended" if self._intake.final is None else f"{self._intake.final.finding}"

    def _apply(self, change: Change, cues: list[Cue]) -> None:
        self._state = change.state
        cues.extend(change.cues)
        for act in change.acts:
            if act == "anchor":
                self._intake.watch.anchor()
            elif act != "judge":
                self._intake.watch.settle(level=act == "settle level")
        if "judge" in change.acts:
            self._opinion.is_wanted = True
            self._around = replace(self._around, current=False)

    def _catch_up(self) -> None:
        """Write the manifest and call the judge, one step after what they are about was shown: a disk may be slow."""
        if not self._keeping.is_begun:
            return
        if self._state.evidence is not self._told:
            self._tell()
        if self._opinion.is_wanted:
            self._opinion.request(self._snapshot())

    def _tell(self) -> None:
        """Write what was asked for and seen into the manifest."""
        try:
            self._keeping.tell(self._state.evidence)
        except StoreError as error:
            self._intake.trouble(Trouble("manifest not written", error.problems[0]), "manifest")
        else:
            self._told = self._state.evidence
            self._intake.over("manifest")

    def recording(self) -> Recording:
        """Give all that is stored so far, with the motions so far, as `check` would read it.

        Raises
        ------
        CaptureError
            If there is too little of it.
        """
        return self._snapshot()()

    def _snapshot(self) -> Snapshot:
        second = None if self._second is None else self._second.table()
        return snapshot_of(self.manifest, self.airframe, self._intake.so_far(), second)

    def _listen(self) -> None:
        """Hear what the judge says."""
        self._around = self._opinion.hear(self._around, hurry=self._state.phase == "judging")
        self._intake.watch.scale = self._opinion.gyro_scale

    def _view(self) -> View:
        return view_of(
            self._state,
            self._sensed,
            self._opinion.mounting,
            heard=self._intake.heard,
            standing=self._opinion.standing,
            trouble=self._intake.standing_trouble,
        )

    def finish(self) -> Finished:
        """Bring everything to the disk, and judge what is there; may be called at any time, and again.

        Returns
        -------
        Finished
        """
        if self._finished is None:
            self._finished = self._finish()
        return self._finished

    def _finish(self) -> Finished:
        problems = self._last_rows()
        if not self.finished:
            self._apply(self._lead.stop(self._state, "stopped; everything is kept"), [])
        troubles = () if self._second is None or not self._is_open else self._second.close(self._state.said)
        refused = self._keeping.close(self._state.evidence, self._state.said)
        self._opinion.close()
        problems = (*problems, *(t.problem for t in troubles), *(p for error in refused for p in error.problems))
        if self._intake.so_far() is None:
            return nothing_came(self.manifest, self._intake.final, problems, self._keeping.take_away())
        try:
            live = self.recording()
        except BenchrigError:
            live = None
        return judged_from_disk(self.airframe, self.manifest, live, problems)

    def _last_rows(self) -> tuple[Problem, ...]:
        """Take what has come since the last step, and close the source; give why it cannot be kept, if it cannot."""
        if not self._is_open:
            self._source.close()
            return ()
        try:
            self._hear(0.0)
            self._source.close()
            self._hear(0.0)  # rows that were kept back until it was clear when they were taken
        except BenchrigError as error:
            return error.problems
        finally:
            self._source.close()
        for sensed in self._intake.ready():
            self._sensed = sensed
            self._apply(self._lead.sense(self._state, sensed, self._around), [])
        return ()
