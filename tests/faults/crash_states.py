"""Every state a power cut may leave of a recorded sequence of writes, syncs and renames.

Two models of a file system, after T. S. Pillai et al., "All File Systems Are Not Created Equal"
(OSDI 2014): *ordered*, where names reach the disk in order and any sync brings all earlier ones
along, as in a journal; *weak*, where only what a sync names is promised, as POSIX has it.
"""

import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

CALLS = (
    "openat,creat,write,pwrite64,read,lseek,fsync,fdatasync,rename,renameat,renameat2,"
    "link,linkat,unlink,unlinkat,mkdir,mkdirat,ftruncate"
)
LINE = re.compile(r"(\d+) +(.*)", re.DOTALL)
CALL = re.compile(r"(\w+)\((.*)\) += (-?\d+)", re.DOTALL)
STRING = re.compile(r'"((?:\\x[0-9a-f]{2})*)"(?:\.\.\.)?')
DESCRIPTOR = re.compile(r"^(?:AT_FDCWD|\d+)<((?:[^<>])*)>")


class Data(NamedTuple):
    """Bytes written to a file."""

    inode: int
    offset: int
    data: bytes


class Names(NamedTuple):
    """Entries of folders that change in one step: path -> inode, None for gone, -1 for a folder."""

    entries: tuple[tuple[str, int | None], ...]


class Sync(NamedTuple):
    """A file's bytes, or a folder's names, are promised."""

    inode: int | None
    folder: str


class Told(NamedTuple):
    """The program reported something."""

    text: str


Operation = Data | Names | Sync | Told


def record(command: list[str], root: Path, log: Path, **options: object) -> list[Operation]:
    """Run ``command`` and return what it and its children did to the files under ``root``."""
    recorder = _Recorder(root)
    subprocess.run(
        [
            "strace",
            "-f",
            "-qq",
            "-y",
            "-xx",
            "-s",
            "8000000",
            "-e",
            f"trace={CALLS}",
            "-o",
            str(log),
            *command,
        ],
        check=True,
        stdout=subprocess.PIPE,
        **options,  # type: ignore[call-overload]
    )
    return recorder.read(log.read_text())


class _Recorder:
    def __init__(self, root: Path) -> None:
        self.root = str(root)
        self.inodes: dict[str, int] = {}
        self.sizes: dict[int, int] = {}
        self.positions: dict[str, int] = {}
        self.appending: set[str] = set()
        self.operations: list[Operation] = []
        for number, path in enumerate(sorted(root.rglob("*"))):
            if path.is_file():
                self.inodes[str(path)] = number
                self.sizes[number] = path.stat().st_size
        self.next = 1_000_000

    def read(self, log: str) -> list[Operation]:
        unfinished: dict[str, str] = {}
        for line in log.splitlines():
            match = LINE.match(line)
            if match is None:
                continue
            pid, text = match.groups()
            if text.endswith("<unfinished ...>"):
                unfinished[pid] = text.removesuffix("<unfinished ...>").rstrip()
                continue
            if resumed := re.match(r"<\.\.\. \w+ resumed>(.*)", text, re.DOTALL):
                text = unfinished.pop(pid, "") + resumed[1]
            call = CALL.match(text)
            if call and int(call[3]) >= 0:
                self.take(call[1], call[2], int(call[3]))
        return self.operations

    def take(self, name: str, arguments: str, result: int) -> None:
        strings = [_unescape(text) for text in STRING.findall(arguments)]
        on = DESCRIPTOR.match(arguments)
        path = _unescape(on[1]).decode("utf-8", "replace") if on else ""
        if name in ("openat", "creat"):
            self.open(self.place(path, strings[0]), arguments)
        elif name.startswith(("rename", "link", "unlink", "mkdir")):
            places = self.places(arguments, strings)
            if places[-1].startswith(self.root):
                self.take_names(name, *places)
        elif name == "write" and strings and strings[0].startswith(b"kept"):
            self.operations.append(Told(strings[0].decode()))
        elif path.startswith(self.root):
            self.take_bytes(name, path, arguments, strings, result)

    def take_names(self, name: str, place: str, target: str = "") -> None:
        if name.startswith("rename"):
            self.name((place, None), (target, self.inodes[place]))
        elif name.startswith("link"):
            self.name((target, self.inodes[place]))
        elif name.startswith("unlink"):
            self.name((place, None))
        else:
            self.operations.append(Names(((place, -1),)))

    def take_bytes(
        self, name: str, path: str, arguments: str, strings: list[bytes], result: int
    ) -> None:
        match name:
            case "write":
                self.write(path, strings[0][:result], None)
            case "pwrite64":
                self.write(path, strings[0][:result], int(arguments.rsplit(", ", 1)[1]))
            case "read":
                self.positions[path] = self.positions.get(path, 0) + result
            case "lseek":
                self.positions[path] = result
            case "fsync" | "fdatasync":
                self.operations.append(Sync(self.inodes.get(path), path))
            case _:
                raise NotImplementedError(name)

    def places(self, arguments: str, strings: list[bytes]) -> list[str]:
        folders = [
            _unescape(text).decode()
            for text in re.findall(r"(?:AT_FDCWD|\d+)<([^<>]*)>", arguments)
        ]
        return [
            self.place(folders[min(index, len(folders) - 1)] if folders else "", text)
            for index, text in enumerate(strings)
        ]

    def place(self, folder: str, text: bytes) -> str:
        name = text.decode("utf-8", "replace")
        return name if name.startswith("/") else str(Path(folder) / name)

    def open(self, path: str, arguments: str) -> None:
        if not path.startswith(self.root):
            return
        self.positions[path] = 0
        self.appending.discard(path)
        if "O_APPEND" in arguments:
            self.appending.add(path)
        if "O_CREAT" in arguments and path not in self.inodes:
            self.next += 1
            self.sizes[self.next] = 0
            self.name((path, self.next))

    def write(self, path: str, data: bytes, at: int | None) -> None:
        inode = self.inodes[path]
        position = self.sizes[inode] if path in self.appending else self.positions.get(path, 0)
        offset = position if at is None else at
        if at is None:
            self.positions[path] = offset + len(data)
        self.sizes[inode] = max(self.sizes[inode], offset + len(data))
        self.operations.append(Data(inode, offset, data))

    def name(self, *entries: tuple[str, int | None]) -> None:
        moved = dict(entries)
        for path, inode in moved.items():
            if inode is None:
                self.inodes.pop(path, None)
        self.inodes.update({path: inode for path, inode in moved.items() if inode is not None})
        self.operations.append(Names(entries))


class State(NamedTuple):
    """What a power cut left: which steps reached the disk, in this order, and what was told."""

    steps: tuple[tuple[int, Operation], ...]
    told: tuple[str, ...]
    where: str


def states(operations: list[Operation], model: str) -> Iterator[State]:
    """The states after a cut before each operation and after the last; many are alike."""
    for cut in range(len(operations) + 1):
        done = list(enumerate(operations[:cut]))
        told = tuple(operation.text for _, operation in done if isinstance(operation, Told))
        promised = _promised(done, model)
        open_names = [
            (n, step) for n, step in done if isinstance(step, Names) and n not in promised
        ]
        open_data = [(n, step) for n, step in done if isinstance(step, Data) and n not in promised]
        for names in _choices(open_names, model):
            for what, data in _data_choices(open_data):
                there = promised | {n for n, _ in names}
                steps = [(n, step) for n, step in done if n in there] + list(data)
                yield State(tuple(sorted(steps, key=lambda s: s[0])), told, f"{cut} {what}")


def _promised(done: list[tuple[int, Operation]], model: str) -> set[int]:
    promised: set[int] = set()
    for at, operation in done:
        if not isinstance(operation, Sync):
            continue
        for n, earlier in done[:at]:
            match earlier:
                case Data(inode=inode) if inode == operation.inode:
                    promised.add(n)
                case Names(entries=entries):
                    folders = {str(Path(path).parent) for path, _ in entries}
                    if model == "ordered" or operation.folder in folders:
                        promised.add(n)
                case _:
                    continue
    return promised


def _choices(pending: list[tuple[int, Names]], model: str) -> Iterator[list[tuple[int, Names]]]:
    if model == "ordered":
        for count in range(len(pending) + 1):
            yield pending[:count]
        return
    yield []
    yield pending
    for step in pending:
        yield [step]
        yield [other for other in pending if other is not step]


def _data_choices(
    pending: list[tuple[int, Data]],
) -> Iterator[tuple[str, list[tuple[int, Operation]]]]:
    yield "all bytes", list(pending)
    if pending:
        yield "no bytes", []
        yield "zeros", [(n, step._replace(data=bytes(len(step.data)))) for n, step in pending]
        yield (
            "half",
            [(n, step._replace(data=step.data[: len(step.data) // 2])) for n, step in pending],
        )


def build(base: Path, root: Path, state: State, target: Path) -> None:
    """Lay out at ``target`` what ``state`` leaves of ``root``, which was like ``base`` before."""
    contents: dict[int, bytearray] = {}
    names: dict[str, int] = {}
    for number, path in enumerate(sorted(base.rglob("*"))):
        if path.is_file():
            contents[number] = bytearray(path.read_bytes())
            names[str(root / path.relative_to(base))] = number
    folders = {str(root / path.relative_to(base)) for path in base.rglob("*") if path.is_dir()}
    for _, step in state.steps:
        match step:
            case Data(inode, offset, data):
                content = contents.setdefault(inode, bytearray())
                content.extend(bytes(max(0, offset - len(content))))
                content[offset : offset + len(data)] = data
            case Names(entries):
                for path, inode in entries:
                    if inode is None:
                        names.pop(path, None)
                    elif inode == -1:
                        folders.add(path)
                    else:
                        names[path] = inode
            case _:
                continue
    shutil.rmtree(target, ignore_errors=True)
    target.mkdir(mode=0o700)
    for folder in sorted(folders):
        (target / Path(folder).relative_to(root)).mkdir(parents=True, exist_ok=True)
    for path, inode in names.items():
        place = target / Path(path).relative_to(root)
        if place.parent.is_dir():
            place.write_bytes(contents.get(inode, b""))


def _unescape(text: str) -> bytes:
    return re.sub(rb"\\x([0-9a-f]{2})", lambda m: bytes([int(m[1], 16)]), text.encode())
