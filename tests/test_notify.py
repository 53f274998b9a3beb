"""What the service manager is told, as sd_notify(3) of systemd has it."""

import socket

from device.parts.notify import Notifier


def test_each_message_is_one_datagram(tmp_path):
    address = str(tmp_path / "notify")
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind(address)
        notifier = Notifier(address)
        notifier.ready()
        notifier.status("waiting for E5")
        notifier.alive()
        notifier.leaving()
        notifier.close()
        told = [manager.recv(200).decode() for _ in range(4)]
    assert told == ["READY=1", "STATUS=waiting for E5", "WATCHDOG=1", "STOPPING=1"]


def test_a_socket_without_a_file_works_too():
    with socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) as manager:
        manager.bind("\0wallpeg-test-notify")
        notifier = Notifier("@wallpeg-test-notify")
        notifier.ready()
        notifier.close()
        assert manager.recv(200) == b"READY=1"


def test_without_a_service_manager_nothing_is_sent(monkeypatch):
    monkeypatch.delenv("NOTIFY_SOCKET", raising=False)
    notifier = Notifier()
    notifier.ready()
    notifier.close()


def test_a_service_manager_that_is_away_does_not_stop_the_box(tmp_path):
    notifier = Notifier(str(tmp_path / "nobody"))
    notifier.alive()
    notifier.close()
