"""Draws a picture when there is something new to see, and sends it to the panel.

Drawing costs milliseconds on a small processor and sending costs more on a slow bus, so a scene
that has not changed is drawn again only at the pace of the slowest thing that moves by itself, and
a picture that came out the same is not sent.
"""

from collections.abc import Callable

from PIL import Image

from device.config.settings import Settings
from device.errors import PartError
from device.panel.scene import Scene
from device.ports import Adjusts, Panel, SendsInPieces
from device.runtime.reconnect import ReconnectingPart
from dsp import Seconds

PICTURE_INTERVAL_S = 0.04  # chosen: 25 pictures a second look smooth and leave the processor alone
ASK_S = 1.0  # chosen: how soon a panel that was unplugged is missed while its picture does not change
BLINK_S = 0.25  # half a period: nothing blinks faster than twice a second

Draw = Callable[[Scene, Seconds], Image.Image]
"""Draws a scene at a moment, as a 1-bit picture of the panel's size."""


class PanelOut:
    """Keeps the panel answering and its picture up to date."""

    def __init__(self, panel: ReconnectingPart[Panel], draw: Draw) -> None:
        self.pictures = 0  # sent whole, each different from the one before
        self._panel = panel
        self._draw = draw
        self._scene: Scene | None = None
        self._drawn_at = Seconds(float("-inf"))
        self._bytes: bytes | None = None  # of the picture on the panel; None: not known
        self._asked: Panel | None = None  # whether it sends in pieces: asking costs time
        self._pieces: SendsInPieces | None = None  # that one, if it does
        self._sending = False
        self._heard_from = Seconds(float("-inf"))  # when the panel last answered
        self._adjusted: tuple[int, bool] | None = None  # brightness and way up; None: not known

    def show(self, scene: Scene, at: Seconds) -> None:
        """Bring `scene` on the panel, or the next piece of it."""
        held = self._panel.part
        panel = self._panel.seek(at)
        if panel is None:
            return
        if panel is not self._asked:
            self._asked, self._pieces = panel, panel if isinstance(panel, SendsInPieces) else None
        if panel is not held:
            self._scene = self._bytes = self._adjusted = None
        try:
            self._adjust(panel, scene.settings)
            self._bring(panel, scene, at)
        except PartError as why:
            self._panel.lose(at, why)

    def close(self) -> None:
        """Clear the panel and let go of it for good."""
        self._panel.close()

    def _adjust(self, panel: Panel, settings: Settings) -> None:
        wanted = (settings.brightness_percent, settings.upside_down)
        if wanted == self._adjusted:
            return
        if isinstance(panel, Adjusts):
            panel.adjust(*wanted)
            self._sending = True
        self._adjusted = wanted

    def _bring(self, panel: Panel, scene: Scene, at: Seconds) -> None:
        pieces = self._pieces
        if pieces is not None and (self._sending or at - self._heard_from >= ASK_S):
            self.pictures += self._sent(pieces, at)
            return
        pause = BLINK_S if scene == self._scene else PICTURE_INTERVAL_S
        if at - self._drawn_at < pause and self._scene is not None:
            return
        picture = self._draw(scene, at)
        self._scene, self._drawn_at = scene, at
        fresh = picture.tobytes()
        if fresh != self._bytes:
            self._bytes = fresh
            panel.show(picture)
            self._sending = pieces is not None
            self.pictures += pieces is None

    def _sent(self, panel: SendsInPieces, at: Seconds) -> bool:
        """Send the next piece, or ask whether it is there; whether a picture is whole by that."""
        had = self._sending and self._bytes is not None
        self._sending = panel.send_more()
        self._heard_from = at
        return had and not self._sending
