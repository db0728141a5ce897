"""What a command line wishes for, as its options say it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

ENDINGS: Final = (".toml", ".arrow")


@dataclass(frozen=True, slots=True)
class Wish:
    """What the command line wishes for; each field is an option, and the help tells its meaning."""

    airframe: Path
    out: Path
    port: str | None = None
    device: Path | None = None
    replayed: Path | None = None
    speed: float | None = None
    pulses_port: str | None = None
    pulses_device: Path | None = None
    motions: Sequence[str] = ()
    operator: str = ""
    plain: bool = False
    sounds: bool = True
    voice: bool = False
    html: Path | None = None
    json_target: Path | None = None
    junit: Path | None = None
    book: Path | None = None
    colour: bool | None = None
    force: bool = False

    @property
    def reports(self) -> dict[str, Path | None]:
        """The report files that are wanted, by option."""
        wanted = None if self.prints_json else self.json_target
        return {"--html": self.html, "--json": wanted, "--junit": self.junit}

    @property
    def prints_json(self) -> bool:
        """Whether standard output is for the result alone."""
        return str(self.json_target) == "-"

    @property
    def name(self) -> Path:
        """Folder and name of the recording, without the ending of one of its files."""
        return self.out.with_suffix("") if self.out.suffix in ENDINGS else self.out

    @property
    def reads(self) -> tuple[Path, ...]:
        """The files that are named to be read."""
        named = (self.airframe, self.device, self.replayed, self.pulses_device)
        return tuple(path for path in named if path is not None)
