"""Tells the service manager how the box is: ready, alive, what it is doing, leaving.

The protocol is a datagram of lines on a Unix socket named in NOTIFY_SOCKET (systemd's manual page
sd_notify(3)); it needs no library. Without a service manager nothing is sent.
"""

import contextlib
import os
import socket


class Notifier:
    """Sends to the socket named in the environment, or nowhere."""

    def __init__(self, address: str | None = None) -> None:
        address = os.environ.get("NOTIFY_SOCKET", "") if address is None else address
        self._address = "\0" + address[1:] if address.startswith("@") else address
        self._socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM) if address else None

    def ready(self) -> None:
        """The loop runs and the first picture is out."""
        self._send("READY=1")

    def alive(self) -> None:
        """Feed the watchdog."""
        self._send("WATCHDOG=1")

    def status(self, sentence: str) -> None:
        """One line for `systemctl status`."""
        self._send(f"STATUS={sentence}")

    def leaving(self) -> None:
        """A clean stop began."""
        self._send("STOPPING=1")

    def close(self) -> None:
        """Let go of the socket."""
        if self._socket is not None:
            self._socket.close()
            self._socket = None

    def _send(self, line: str) -> None:
        """Send, or drop it: a service manager that is away for a moment must not stop the box."""
        if self._socket is not None:
            with contextlib.suppress(OSError):
                self._socket.sendto(line.encode(), socket.MSG_DONTWAIT, self._address)
