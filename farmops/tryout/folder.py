"""The folder a tryout writes to: it starts afresh there, and touches no file that it did not write itself.

A list of what was written stands in the folder, and each name enters it before its file is made. A file of
the same name that is not in the list belongs to somebody else, and the run is refused.
"""

from pathlib import Path

from farmops.core.problems import DomainError, Kind

LIST_NAME = "written-by-tryout.txt"
HEAD = "Written by tryout; a new run removes these files and no others.\n"


class FolderRefused(DomainError):
    """The folder holds something that is not the tryout's to replace."""

    code = "folder_refused"
    kind = Kind.CONFLICT


class OutFolder:
    """A folder with the list of our own files in it."""

    def __init__(self, root: Path) -> None:
        self.root = root
        self._names: list[str] = []

    def start_afresh(self) -> None:
        """Make the folder, and remove what an earlier run wrote."""
        if self.root.exists() and not self.root.is_dir():
            raise FolderRefused(f"{self.root} is a file, not a folder; name another with --out.")
        try:
            self.root.mkdir(parents=True, exist_ok=True)
            for name in self._listed():
                (self.root / name).unlink(missing_ok=True)
            for folder in sorted({(self.root / name).parent for name in self._listed()}, reverse=True):
                if folder != self.root and folder.is_dir() and not any(folder.iterdir()):
                    folder.rmdir()
            self._names = []
            self._save()
        except OSError as error:
            raise FolderRefused(f"{error.filename}: cannot be written: {error.strerror}.") from error

    def claim(self, name: str) -> Path:
        """Return the path of a file to be written, after taking it into the list."""
        path = self.root / name
        if name not in self._names:
            if path.exists() or path.is_symlink():
                raise FolderRefused(
                    f"{path} was not written by a tryout, and is left alone; name another folder with --out."
                )
            self._names.append(name)
            self._save()
        path.parent.mkdir(parents=True, exist_ok=True)
        return path

    def write_text(self, name: str, text: str) -> Path:
        """Write a text file with plain line ends."""
        path = self.claim(name)
        path.write_text(text, encoding="utf-8", newline="\n")
        return path

    def written(self) -> list[str]:
        """Return the names of the list that are there, sorted."""
        return sorted(name for name in self._names if (self.root / name).is_file())

    def _listed(self) -> list[str]:
        path = self.root / LIST_NAME
        if not path.is_file():
            return []
        text = path.read_text(encoding="utf-8", errors="replace")
        if not text.startswith(HEAD):
            raise FolderRefused(f"{path} is not a list of a tryout; name another folder with --out.")
        names = text.removeprefix(HEAD).splitlines()
        return [name for name in names if self._is_inside(name)]

    def _is_inside(self, name: str) -> bool:
        """Return whether a listed name stays in the folder, whatever somebody wrote into the list."""
        if not name or Path(name).is_absolute() or ".." in Path(name).parts:
            return False
        return (self.root / name).parent.resolve().is_relative_to(self.root.resolve())

    def _save(self) -> None:
        text = HEAD + "".join(f"{name}\n" for name in sorted(self._names))
        (self.root / LIST_NAME).write_text(text, encoding="utf-8", newline="\n")
