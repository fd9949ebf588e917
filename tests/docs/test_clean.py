"""Nothing that is kept names a machine, a registry or a workplace; the lock is good."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from tools import lock

ROOT = Path(__file__).resolve().parents[2]
IGNORED = {"__pycache__", "build", "dist", "demo"}


def joined(*parts: str) -> str:
    """A word put together from parts, so that this file does not hold what it looks for."""
    return "".join(parts)


MACHINE_PATH = re.compile(
    r"(?<![\w.~}-])/(?:"
    + "|".join((joined("ro", "ot"), joined("wo", "rk"), joined("ho", "me"), joined("t", "mp")))
    + r")/"
)
REGISTRY = re.compile(
    "|".join(
        (
            joined("py", "pi", r"\.", "org"),
            joined("python", "hosted"),
            joined("deb", "ian", r"\.", "(?:org|net)"),
            joined("npm", "js", r"\."),
            joined("proxy", r"\.", "golang"),
            joined("crates", r"\.", "io"),
        )
    ),
    re.IGNORECASE,
)
WORKPLACE = re.compile(
    "|".join(
        (joined("farm-", "bench"), joined("farm-", "studio"), joined("sub", "agent"), joined("helper ", "session"))
    ),
    re.IGNORECASE,
)


def kept_files() -> list[Path]:
    """Every file that is kept: what git tracks; in an unpacked archive, everything that is not left over from a run."""
    if (ROOT / ".git").exists() and shutil.which("git"):
        listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True).stdout
        return [path for name in listed.decode().split("\0") if name and (path := ROOT / name).is_file()]
    return [path for path in ROOT.rglob("*") if path.is_file() and not is_left_over(path.relative_to(ROOT))]


def is_left_over(path: Path) -> bool:
    """Whether a file of an unpacked archive comes from running something, not from the archive."""
    folders = path.parts[:-1]
    return any(part in IGNORED or (part.startswith(".") and part != ".ci") for part in folders)


def texts() -> list[tuple[Path, str]]:
    """Path and content of every kept text file."""
    found = []
    for path in kept_files():
        content = path.read_bytes()
        if b"\0" not in content:
            found.append((path.relative_to(ROOT), content.decode("utf-8")))
    return found


def lines_with(pattern: re.Pattern[str]) -> list[str]:
    """Every line of a kept text file that the pattern is found in."""
    return [
        f"{path}:{number}: {line.strip()[:120]}"
        for path, text in texts()
        for number, line in enumerate(text.splitlines(), 1)
        if pattern.search(line)
    ]


def test_there_is_something_to_look_at() -> None:
    names = {str(path) for path, _ in texts()}
    assert {"pyproject.toml", "Makefile", "src/trayward/errors.py"} <= names


@pytest.mark.parametrize(
    ("pattern", "line"),
    [
        (MACHINE_PATH, joined("see /", "work/", "main")),
        (MACHINE_PATH, joined('"/', "root/", '.cache"')),
        (MACHINE_PATH, joined("/", "home/", "somebody/farm")),
        (REGISTRY, joined("https", ":", "//", "py", "pi.", "org/simple")),
        (WORKPLACE, joined("a ", "Sub", "agent did it")),
    ],
)
def test_the_patterns_find_what_they_are_for(pattern: re.Pattern[str], line: str) -> None:
    assert pattern.search(line)


@pytest.mark.parametrize("line", ["src/work/plan.py", "make VENV=elsewhere", "./tmp/x", "a home/office farm"])
def test_the_patterns_leave_plain_paths_alone(line: str) -> None:
    assert not MACHINE_PATH.search(line)


def test_no_kept_file_names_a_path_of_a_machine() -> None:
    assert lines_with(MACHINE_PATH) == []


def test_no_kept_file_names_a_registry() -> None:
    assert lines_with(REGISTRY) == []


def test_no_kept_file_names_the_workplace() -> None:
    assert lines_with(WORKPLACE) == []


def test_no_kept_text_has_windows_line_ends_or_trailing_blanks() -> None:
    """Expected outputs kept for comparison may end a line in blanks; source and documents may not."""
    wanted = {".py", ".toml", ".md", ".txt"}
    bad = [str(path) for path, text in texts() if path.suffix in wanted and re.search(r"[ \t\r]$", text, re.MULTILINE)]
    assert bad == []


# The lock -------------------------------------------------------------------------------------------------------------


def test_the_lock_is_whole_hashed_and_names_no_address() -> None:
    assert lock.check() == []


def lock_of(tmp_path: Path, text: str, dependency: str = "click>=8.5") -> list[str]:
    """What the check says of a small project whose lock is `text`."""
    (tmp_path / "requirements").mkdir()
    (tmp_path / "pyproject.toml").write_text(
        f'[build-system]\nrequires = []\n[project]\ndependencies = ["{dependency}"]\n'
        "[project.optional-dependencies]\ndev = []\npostgres = []\n"
    )
    both = text + "editables==0.6 \\\n    --hash=sha256:00\n"
    (tmp_path / "requirements/run.txt").write_text(both)
    (tmp_path / "requirements/dev.txt").write_text(both)
    return lock.check(tmp_path)


def test_a_good_lock_passes(tmp_path: Path) -> None:
    assert lock_of(tmp_path, "click==8.5.1 \\\n    --hash=sha256:00\n") == []


def test_a_lock_with_an_address_is_found(tmp_path: Path) -> None:
    text = joined("--index-url https", ":", "//", "index.example\n") + "click==8.5.1 \\\n    --hash=sha256:00\n"
    assert any("names an address" in line for line in lock_of(tmp_path, text))


def test_a_pin_without_a_hash_is_found(tmp_path: Path) -> None:
    assert any("click has no hash" in line for line in lock_of(tmp_path, "click==8.5.1\n"))


def test_a_dependency_missing_from_the_lock_is_found(tmp_path: Path) -> None:
    found = lock_of(tmp_path, "rich==15.0.0 \\\n    --hash=sha256:00\n")
    assert any("'click>=8.5' of pyproject.toml is not in it" in line for line in found)


def test_a_lock_with_another_version_than_the_one_demanded_is_found(tmp_path: Path) -> None:
    """Another solver release prints a banner on standard output, which would spoil every `--json`."""
    found = lock_of(tmp_path, "click==8.5.1 \\\n    --hash=sha256:00\n", "click==8.5.0")
    assert any("click 8.5.1, but pyproject.toml says 8.5.0" in line for line in found)
