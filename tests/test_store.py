"""The file that is always whole: the plug is pulled at every step, and what was not synced is lost."""

import itertools
import os
from dataclasses import dataclass, field

import pytest

from device.errors import PartError
from device.parts import store as module
from device.parts.store import LARGEST, Store

OLD, NEW = "reference_hz = 440\n", "reference_hz = 442\n"


class PlugPulledError(BaseException):
    """Nothing of the program runs after this."""


@dataclass
class Inode:
    """What the processor sees of a file, and what the disk holds of it."""

    seen: bytes = b""
    durable: bytes = b""


@dataclass
class Disk:
    """Stands in for `os` in the store. Contents and names reach the disk only when synced, or maybe.

    `left` steps are done, then the plug is pulled; `syncs` off makes fsync lie, to see the test fail.
    """

    left: int
    syncs: bool = True
    names: dict = field(default_factory=dict)
    durable_names: dict = field(default_factory=dict)
    handles: list = field(default_factory=list)

    O_WRONLY, O_CREAT, O_TRUNC, O_CLOEXEC = os.O_WRONLY, os.O_CREAT, os.O_TRUNC, os.O_CLOEXEC
    O_RDONLY, O_DIRECTORY = os.O_RDONLY, os.O_DIRECTORY
    O_EXCL, O_NOFOLLOW = os.O_EXCL, os.O_NOFOLLOW

    def step(self):
        if self.left == 0:
            raise PlugPulledError
        self.left -= 1

    def open(self, path, flags, _mode=0):
        self.step()
        if flags & os.O_DIRECTORY:
            self.handles.append(None)
        else:
            self.names[str(path)] = inode = Inode()
            self.handles.append(inode)
        return len(self.handles) - 1

    def unlink(self, path):
        self.step()
        if self.names.pop(str(path), None) is None:
            raise FileNotFoundError

    def write(self, handle, content):
        self.step()
        half = content[: max(1, len(content) // 2)]  # a write may be short
        self.handles[handle].seen += half
        return len(half)

    def fsync(self, handle):
        self.step()
        if not self.syncs:
            return
        inode = self.handles[handle]
        if inode is None:
            self.durable_names = dict(self.names)
        else:
            inode.durable = inode.seen

    def close(self, _handle):
        self.step()

    def replace(self, old, new):
        self.step()
        self.names[str(new)] = self.names.pop(str(old))

    def after_power_cut(self, name):
        """Everything that may be found under the name: names and contents synced, or got there anyway."""
        for names, whole in itertools.product((self.durable_names, self.names), (False, True)):
            inode = names.get(name)
            yield None if inode is None else (inode.seen if whole else inode.durable).decode()


def found_after_each_step(monkeypatch, tmp_path, **options):
    """Every text that may be found, for the plug pulled before each step and after the last."""
    kept = Store(tmp_path / "settings.toml")
    for steps in itertools.count():
        inode = Inode(OLD.encode(), OLD.encode())
        disk = Disk(steps, names={str(kept.path): inode}, durable_names={str(kept.path): inode}, **options)
        with monkeypatch.context() as patch:
            patch.setattr(module, "os", disk)
            try:
                kept.write(NEW)
            except PlugPulledError:
                yield from disk.after_power_cut(str(kept.path))
            else:
                assert steps > 6
                assert set(disk.after_power_cut(str(kept.path))) == {NEW} or not disk.syncs
                yield from disk.after_power_cut(str(kept.path))
                return


def test_pulling_the_plug_anywhere_leaves_the_old_text_or_the_new(monkeypatch, tmp_path):
    assert set(found_after_each_step(monkeypatch, tmp_path)) == {OLD, NEW}


def test_without_syncing_the_same_search_finds_a_broken_file(monkeypatch, tmp_path):
    assert set(found_after_each_step(monkeypatch, tmp_path, syncs=False)) - {OLD, NEW}


def test_what_was_written_is_read_and_no_other_file_is_left(tmp_path):
    kept = Store(tmp_path / "settings.toml")
    assert kept.read() is None
    kept.write(OLD)
    kept.write(NEW)
    assert kept.read() == NEW
    assert [path.name for path in tmp_path.iterdir()] == ["settings.toml"]


def test_a_temporary_file_of_a_power_cut_is_written_over(tmp_path):
    (tmp_path / "settings.toml.new").write_text("half a li")
    kept = Store(tmp_path / "settings.toml")
    kept.write(NEW)
    assert kept.read() == NEW


@pytest.mark.parametrize(
    ("garbage", "why"),
    [(b"\xff\xfe\x00", "is not UTF-8"), (b"x" * (LARGEST + 1), "is longer than 65536 bytes")],
    ids=["not text", "too long"],
)
def test_garbage_is_set_aside_and_it_is_said(tmp_path, garbage, why):
    path = tmp_path / "settings.toml"
    path.write_bytes(garbage)
    with pytest.raises(PartError, match=f"settings.toml {why}, so it is set aside"):
        Store(path).read()
    assert path.with_name("settings.toml.damaged").read_bytes() == garbage
    assert Store(path).read() is None


STRANGE = {
    "a link to a file": lambda path: path.symlink_to("/etc/hostname"),
    "a link to a device": lambda path: path.symlink_to("/dev/zero"),
    "a pipe nobody writes to": os.mkfifo,
    "a folder": lambda path: path.mkdir(),
}


@pytest.mark.parametrize("how", STRANGE)
def test_what_is_no_file_is_set_aside_without_waiting_for_it(tmp_path, how):
    path = tmp_path / "settings.toml"
    STRANGE[how](path)
    with pytest.raises(PartError, match="so it is set aside and nothing of it holds"):
        Store(path).read()
    kept = Store(path)
    kept.write(NEW)
    assert kept.read() == NEW


@pytest.mark.parametrize("name", ["settings.toml", "settings.toml.new"])
def test_a_link_in_the_folder_never_leads_the_writing_elsewhere(tmp_path, name):
    """root's own check writes into the folder of the service's user."""
    elsewhere = tmp_path / "elsewhere"
    elsewhere.write_text("root's own\n")
    folder = tmp_path / "state"
    folder.mkdir()
    (folder / name).symlink_to(elsewhere)
    kept = Store(folder / "settings.toml")
    kept.write(NEW)
    assert elsewhere.read_text() == "root's own\n"
    assert kept.read() == NEW


def test_nothing_is_kept_after_forgetting(tmp_path):
    kept = Store(tmp_path / "settings.toml")
    kept.forget()
    kept.write(OLD)
    kept.forget()
    assert kept.read() is None


def test_a_missing_folder_is_made(tmp_path):
    kept = Store(tmp_path / "missing" / "settings.toml")
    kept.write(NEW)
    assert kept.read() == NEW


def test_a_folder_that_cannot_be_is_said_in_one_sentence(tmp_path):
    (tmp_path / "file").write_text("")
    with pytest.raises(PartError, match=r"file/settings.toml cannot be written \(File exists"):
        Store(tmp_path / "file" / "settings.toml").write(NEW)


def test_a_full_disk_leaves_the_old_text(monkeypatch, tmp_path):
    kept = Store(tmp_path / "settings.toml")
    kept.write(OLD)

    def full(_handle, _content):
        raise OSError(28, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(module.os, "write", full)
        with pytest.raises(PartError, match="No space left"):
            kept.write(NEW)
    assert kept.read() == OLD
