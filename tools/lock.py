"""Make or check the pinned lock: every package by version and hash, no host, no address.

`python tools/lock.py` makes `requirements/run.txt` and `requirements/dev.txt` anew (wants `uv` on the path, see
`make lock`); `--upgrade` moves to the newest versions that fit. `python tools/lock.py --check` asks no network: it
says whether the lock is whole, hashed, free of addresses, and holds what `pyproject.toml` asks for.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
RUN = Path("requirements/run.txt")
DEV = Path("requirements/dev.txt")
OLDEST_PYTHON = "3.11"
EXTRAS_OF_DEV = ("dev", "postgres")
EDITABLE = "editables>=0.5"
"""What the build backend wants for an editable install; it does not declare it, since it is asked for at build time."""
HEADER = "# Made by `make lock` from pyproject.toml; do not edit. Pinned by version and hash, no addresses.\n"
ADDRESS = ":" + "//"


def project(root: Path = ROOT) -> dict[str, object]:
    """The whole of `pyproject.toml`."""
    return tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))


def name_of(requirement: str) -> str:
    """A requirement's package, spelt the one way that compares: lower case, single dashes."""
    found = re.match(r"[A-Za-z0-9][A-Za-z0-9._-]*", requirement.strip())
    return re.sub(r"[-_.]+", "-", found.group(0)).lower() if found else ""


def asked_for(root: Path, extras: tuple[str, ...]) -> list[str]:
    """What `pyproject.toml` asks for: to run, to build, and for the named extras."""
    whole = project(root)
    table = whole["project"]
    build = whole["build-system"]
    assert isinstance(table, dict)
    assert isinstance(build, dict)
    wanted = [*table["dependencies"], *build["requires"], EDITABLE]
    for extra in extras:
        wanted += table["optional-dependencies"][extra]
    return wanted


def pins(text: str) -> dict[str, tuple[str, int]]:
    """Package -> version and number of hashes, as a lock says it."""
    found: dict[str, tuple[str, int]] = {}
    for block in re.split(r"\n(?=[A-Za-z0-9])", text):
        head = re.match(r"([A-Za-z0-9._-]+)(?:\[[^]]*\])?==([^\s;\\]+)", block)
        if head:
            found[name_of(head.group(1))] = (head.group(2), block.count("--hash=sha256:"))
    return found


def exact_versions(requirements: list[str]) -> dict[str, str]:
    """Package -> version, for the requirements that name exactly one."""
    exact = (re.match(r"([A-Za-z0-9._-]+)(?:\[[^]]*\])?==([^\s;,]+)$", asked.strip()) for asked in requirements)
    return {name_of(found.group(1)): found.group(2) for found in exact if found}


def problems_of(path: Path, wanted: list[str], root: Path = ROOT) -> list[str]:
    """What is wrong with one lock file, in sentences; empty when it is good."""
    if not (root / path).is_file():
        return [f"{path}: there is no such file. Make it with `make lock`."]
    text = (root / path).read_text(encoding="utf-8")
    found = pins(text)
    lines = [
        f"{path}:{number}: names an address. Make the lock with `make lock`, which writes none."
        for number, line in enumerate(text.splitlines(), 1)
        if ADDRESS in line
    ]
    lines += [f"{path}: {name} has no hash. Run `make lock`." for name, (_, hashes) in found.items() if not hashes]
    lines += [
        f"{path}: {asked!r} of pyproject.toml is not in it. Run `make lock`."
        for asked in wanted
        if name_of(asked) not in found
    ]
    for name, version in exact_versions(wanted).items():
        if name in found and found[name][0] != version:
            lines.append(f"{path}: {name} {found[name][0]}, but pyproject.toml says {version}. Run `make lock`.")
    return lines


def same_versions(root: Path = ROOT) -> list[str]:
    """Packages whose version differs between the two locks, in sentences."""
    run = pins((root / RUN).read_text(encoding="utf-8"))
    dev = pins((root / DEV).read_text(encoding="utf-8"))
    return [
        f"{name}: {version} in {RUN}, {dev.get(name, ('none', 0))[0]} in {DEV}. Run `make lock`."
        for name, (version, _) in run.items()
        if dev.get(name, ("none", 0))[0] != version
    ]


def check(root: Path = ROOT) -> list[str]:
    """Everything wrong with the lock, in sentences; empty when it is good."""
    found = problems_of(RUN, asked_for(root, ()), root) + problems_of(DEV, asked_for(root, EXTRAS_OF_DEV), root)
    return found or same_versions(root)


def compile_lock(path: Path, wanted: list[str], *, upgrade: bool, constraint: Path | None = None) -> None:
    """Resolve `wanted` and write them pinned and hashed to `path`, for every platform the packages are built for."""
    command = ["uv", "pip", "compile", "-", "--quiet", "--universal", "--fork-strategy", "fewest"]
    command += ["--python-version", OLDEST_PYTHON, "--generate-hashes", "--no-header", "--no-annotate"]
    command += ["--no-emit-index-url", "--no-emit-find-links", "--output-file", str(path)]
    command += ["--upgrade"] if upgrade else []
    command += ["--constraint", str(constraint)] if constraint else []
    # Addresses of a machine's own package shelf must not decide what the lock holds.
    clean = {name: value for name, value in os.environ.items() if name not in ("UV_FIND_LINKS", "UV_EXTRA_INDEX_URL")}
    subprocess.run(command, input="\n".join(wanted), text=True, check=True, cwd=ROOT, env=clean)
    made = (ROOT / path).read_text(encoding="utf-8")
    (ROOT / path).write_text(HEADER + made.removeprefix(HEADER), encoding="utf-8")


def make(*, upgrade: bool) -> None:
    """Make both locks; the one to run with holds the same versions as the one to develop with."""
    (ROOT / "requirements").mkdir(exist_ok=True)
    compile_lock(DEV, asked_for(ROOT, EXTRAS_OF_DEV), upgrade=upgrade)
    compile_lock(RUN, asked_for(ROOT, ()), upgrade=upgrade, constraint=DEV)


def main(arguments: list[str] | None = None) -> int:
    """Make or check; the exit code is 0 when the lock is good."""
    parser = argparse.ArgumentParser(description="Make or check the pinned lock.")
    parser.add_argument("--check", action="store_true", help="only say what is wrong; asks no network")
    parser.add_argument("--upgrade", action="store_true", help="move to the newest versions that fit")
    given = parser.parse_args(arguments)
    if not given.check:
        make(upgrade=given.upgrade)
    found = check()
    print("\n".join(found) or f"{RUN} and {DEV}: pinned, hashed, no addresses, all of pyproject.toml in them.")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
