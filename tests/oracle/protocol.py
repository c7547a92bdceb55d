"""The numbers of one protocol file, as the file has them. No number of a protocol is written anywhere else in here."""

import pathlib
import tomllib
from fractions import Fraction

SHIPPED = pathlib.Path(__file__).resolve().parents[2] / "server" / "protocols"


class Protocol:
    """One protocol file. Paths are the file's own, joined by dots: `epinephrine.interval_s`."""

    def __init__(self, text):
        self.file = tomllib.loads(text)

    def at(self, path, default=KeyError):
        """What stands at a path; KeyError where nothing does, unless a default is given."""
        found = self.file
        for name in path.split("."):
            if name not in found:
                if default is KeyError:
                    raise KeyError(f"{self.file['id']}: {path}")
                return default
            found = found[name]
        return found

    def value(self, path):
        """The value of an entry that has a source beside it."""
        return self.at(path)["value"]

    def ms(self, path):
        """A time, given in seconds, in milliseconds."""
        return round(self.value(path) * 1000)

    def circumstance(self, name):
        """The entry of a special circumstance, or nothing where the file does not describe it."""
        return next((entry for entry in self.file.get("circumstances", []) if entry["id"] == name), {})


def exact(number):
    """A number as it is written in a file or a record: 0.1 is a tenth."""
    return Fraction(str(number))


def shipped():
    """Every protocol that the program brings along, by id."""
    protocols = [Protocol(path.read_text(encoding="utf-8")) for path in sorted(SHIPPED.glob("*.toml"))]
    return {protocol.file["id"]: protocol for protocol in protocols}
