"""Which firmware files a board needs: its board file, main.py, and what these import, found in the sources."""

import ast
import re
from dataclasses import dataclass
from functools import cached_property
from importlib.util import find_spec
from pathlib import Path

from scalewright.errors import InputError, ScalewrightError
from scalewright.link.imports import BOARDS, Reached, imports_in

_DEVICE, _SHARED = "scalewright_device", "shared_calc"
_FAMILIES = {"pyboard": "stm32"}  # sys.platform of MicroPython, where its own port is called otherwise


@dataclass(frozen=True)
class Firmware:
    """The firmware's sources: two packages, and main.py beside the first one (in a wheel: in it)."""

    device_folder: Path
    shared_folder: Path

    @classmethod
    def installed(cls) -> "Firmware":
        """Return what was installed with this program. Raises ScalewrightError where that is not whole."""
        folders = []
        for package in (_DEVICE, _SHARED):
            spec = find_spec(package)  # finds a package and does not import it
            if spec is None or not spec.submodule_search_locations:
                raise ScalewrightError(f"the package {package} is missing", "install scalewright again")
            folders.append(Path(spec.submodule_search_locations[0]))
        return cls(*folders)

    @classmethod
    def in_checkout(cls, folder: Path) -> "Firmware":
        """Return that of a checkout of the project. Raises InputError where it is none."""
        firmware = cls(folder / "firmware" / _DEVICE, folder / _SHARED)
        for part in (firmware.device_folder, firmware.shared_folder):
            if not part.is_dir():
                raise InputError("no such folder; expected a checkout of the project", file=str(part))
        return firmware

    @cached_property
    def boards(self) -> list[str]:
        """The names of the boards there is a file for, sorted."""
        files = (self.device_folder / "boards").glob("*.py")
        return sorted(file.stem for file in files if "\ndef assemble(" in file.read_text(encoding="utf-8"))

    @cached_property
    def version(self) -> str:
        """What it answers to *IDN?"""
        for source in sorted(self.device_folder.glob("*.py")):
            match = re.search(r'^VERSION = "([^" ]+)"$', source.read_text(encoding="utf-8"), re.MULTILINE)
            if match:
                return match[1]
        raise InputError('no line VERSION = "…" in any file', file=str(self.device_folder))

    def boards_for(self, platform: str) -> list[str]:
        """Return those that fit a MicroPython whose `sys.platform` is this: rp2, rp2_nau7802 and so on."""
        family = _FAMILIES.get(platform, platform)
        return [name for name in self.boards if name.split("_")[0] == family]

    def root_file(self, name: str) -> Path:
        """Return main.py or choose_version.py."""
        in_wheel = self.device_folder / name
        return in_wheel if in_wheel.exists() else self.device_folder.parent / name

    def imports_of_main(self) -> list[str]:
        """Return the dotted names that main.py imports."""
        return list(imports_in(ast.parse(self.root_file("main.py").read_text(encoding="utf-8"))))

    def files_for(self, board: str) -> dict[str, Path]:
        """Return path in the version's folder → source, for each file that the board needs."""
        reached = Reached(self._find)
        reached.take_board(f"{BOARDS}.{board}")
        for name in self.imports_of_main():
            reached.take(name)
        files = {"main.py": self.root_file("main.py"), "board.py": reached.files.pop(f"{BOARDS}.{board}")}
        for module, file in reached.files.items():
            path = module.replace(".", "/")
            files[f"{path}/__init__.py" if file.name == "__init__.py" else f"{path}.py"] = file
        return dict(sorted(files.items()))

    def _find(self, module: str) -> Path | None:
        package, *parts = module.split(".")
        folder = {_DEVICE: self.device_folder, _SHARED: self.shared_folder}.get(package)
        if folder is None:
            return None
        path = folder.joinpath(*parts)
        for file in (path / "__init__.py", path.with_suffix(".py")):
            if file.is_file():
                return file
        return None
