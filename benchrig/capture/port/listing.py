"""The serial ports of this computer: which there are, and how one is found again after it was unplugged."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Final

from serial.tools import list_ports

from benchrig.declaration.quotation import escape

LONGEST: Final = 200
"""Characters of a port's name that are shown."""


@dataclass(frozen=True, slots=True)
class PortName:
    """A port.

    Attributes
    ----------
    name : str
        By which the system opens it.
    maker, product : int or None
        The vendor's and the product's number of a USB device.
    number : str
        The device's serial number; empty where it has none.
    described : str
        What the device says of itself; foreign text.
    """

    name: str
    maker: int | None = None
    product: int | None = None
    number: str = ""
    described: str = ""

    def __str__(self) -> str:
        """Name it, with what it says of itself, printable."""
        said = "" if self.described in {"", "n/a"} else f" ({escape(self.described, 40)})"
        return f"{escape(self.name, LONGEST)}{said}"

    @property
    def can_be_told(self) -> bool:
        """Whether it can be told from others, whatever its name is."""
        return self.maker is not None and bool(self.number)


def ports() -> tuple[PortName, ...]:
    """Give the serial ports that are there, in order of their names."""
    found = [
        PortName(each.device, each.vid, each.pid, each.serial_number or "", each.description or "")
        for each in list_ports.comports()
    ]
    return tuple(sorted(found, key=lambda port: port.name))


def port_named(name: str) -> PortName:
    """Give what is known of a port; its name alone where the system does not list it."""
    wanted = _resolved(name)
    known = next((port for port in ports() if _resolved(port.name) == wanted), None)
    return (
        PortName(name) if known is None else PortName(name, known.maker, known.product, known.number, known.described)
    )


def there_again(port: PortName) -> str | None:
    """Find a port that went away: by what its device says of itself where it can be told by that, else by its name."""
    if port.can_be_told:
        same = [each.name for each in ports() if (each.maker, each.product, each.number) == _told(port)]
        # the name that was given may be a link, which follows its device
        return port.name if _resolved(port.name) in map(_resolved, same) else next(iter(same), None)
    return port.name if Path(port.name).exists() or port.name in {each.name for each in ports()} else None


def _told(port: PortName) -> tuple[int | None, int | None, str]:
    return port.maker, port.product, port.number


def _resolved(name: str) -> str:
    try:
        return str(Path(name).resolve())
    except (OSError, RuntimeError):
        return name
