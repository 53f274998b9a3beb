"""Changes the settings on the box itself: three buttons turn the pages and change the values.

    at home --third held--> turning pages --third--> changing a value --third--> turning pages
                                 |  next, previous: another page; or another value, held: a leap
                                 +--third held, or nothing pressed for 20 s--> home

A change counts at once and stays. With the teacher's lock on, the pages open only to the chord
(next and previous held together); the same chord, on any page, lets a teacher choose what a child
may not. A value whose targets would bring a string near its breaking load is passed over.
"""

from dataclasses import dataclass, replace
from typing import Any

from device.config.settings import Refuse, Settings
from device.controls.menu_pages import PAGES, Page
from device.events import Button, ChordHeld, Held, Press
from device.panel.scene import MenuView
from device.version import DATE, VERSION
from dsp import Seconds

LEAVES_AFTER_S = Seconds(20.0)  # chosen: time to read a page twice, short enough for the next child
NOTICE_S = Seconds(4.0)  # chosen: a page that only tells what was changed
FROM_FILE = "from-file"  # the last page: back to what the file says


@dataclass(frozen=True, slots=True)
class Menu:
    """The settings are open, at a page."""

    page: str
    touched: Seconds  # the last press
    changing: bool = False  # else next and previous turn pages
    teacher: bool = False  # the chord was held in this visit
    shut: bool = False  # locked: only says so
    notice: bool = False  # leaves sooner


@dataclass(frozen=True, slots=True)
class Rules:
    """What the menu needs to know and does not change."""

    from_file: Settings  # what "back to the file" brings back
    refuse: Refuse


def open_menu(settings: Settings, at: Seconds, page: str = PAGES[0].key, notice: bool = False) -> Menu:
    """The settings opened at a page; shut when the teacher's lock is on."""
    return Menu(page, at, shut=settings.locked, notice=notice or settings.locked)


def is_left_alone(menu: Menu, at: Seconds) -> bool:
    """Whether nothing was pressed for so long that it leaves by itself."""
    return at - menu.touched >= (NOTICE_S if menu.notice else LEAVES_AFTER_S)


def act_in_menu(menu: Menu, press: Press, settings: Settings, rules: Rules) -> tuple[Menu | None, Settings]:
    """What a press does to the open menu and to the settings; no menu means home."""
    if isinstance(press, ChordHeld):
        return replace(menu, touched=press.at, teacher=True, shut=False, notice=False), settings
    held = isinstance(press, Held)
    if menu.shut or (held and press.button is Button.TONE):
        return None, settings
    menu = replace(menu, touched=press.at, notice=False)
    if press.button is Button.TONE:
        return replace(menu, changing=not menu.changing), settings
    step = 1 if press.button is Button.NEXT else -1
    if menu.changing:
        return _changed(menu, step, held, settings, rules)
    return replace(menu, page=_turned(menu.page, step, settings)), settings


def menu_view(menu: Menu, settings: Settings, rules: Rules) -> MenuView:
    """The page in words, and what a press of next, previous and the third button will do."""
    pages = _keys(settings)
    position, count = pages.index(menu.page) if menu.page in pages else 0, len(pages)
    if menu.shut:
        return MenuView("Locked", "hold both", position, count, ("home", "home", "home"), "locked")
    page = _page(menu.page)
    title = "As in the file" if page is None else page.title
    value = _back_words(settings, rules) if page is None else page.words(page.value(settings))
    beside = (VERSION, DATE) if page is None else None
    if not menu.changing:
        return MenuView(title, value, position, count, ("next", "before", "change"), menu.page, beside=beside)
    hints = (_hint(menu, 1, settings, rules), _hint(menu, -1, settings, rules), "done")
    return MenuView(title, value, position, count, hints, menu.page, changing=True, beside=beside)


def _page(key: str) -> Page | None:
    return next((page for page in PAGES if page.key == key), None)


def _keys(settings: Settings) -> tuple[str, ...]:
    return (*(page.key for page in PAGES if page.applies(settings)), FROM_FILE)


def _turned(page: str, step: int, settings: Settings) -> str:
    keys = _keys(settings)
    return keys[(keys.index(page) + step) % len(keys)] if page in keys else keys[0]


def _changed(
    menu: Menu, step: int, leap: bool, settings: Settings, rules: Rules
) -> tuple[Menu | None, Settings]:
    page = _page(menu.page)
    if page is None:
        return replace(menu, changing=False), rules.from_file
    return menu, _reached(menu, page, settings, rules, step, leap) or settings


def _reached(  # noqa: PLR0913, PLR0917 - a step is a page, a direction and a length
    menu: Menu, page: Page, settings: Settings, rules: Rules, step: int, leap: bool
) -> Settings | None:
    """The settings with the nearest value in this direction that may be chosen; None without one."""
    for value in page.onward(page.value(settings), step, leap):
        if value in page.teacher and not menu.teacher:
            continue
        change: dict[str, Any] = {page.key: value}
        changed = replace(settings, **change)
        if not rules.refuse(changed):
            return changed
    return None


def _hint(menu: Menu, step: int, settings: Settings, rules: Rules) -> str:
    """What a short press of next (+1) or previous (-1) does while a value is changed."""
    page = _page(menu.page)
    if page is None:
        return "do it"
    if _reached(menu, page, settings, rules, step, leap=False) is not None:
        return ("more" if step > 0 else "less") if page.number else "other"
    onward = page.onward(page.value(settings), step)
    if not menu.teacher and page.teacher & set(onward):
        return "teacher"
    return "limit" if onward else "end"


def _back_words(settings: Settings, rules: Rules) -> str:
    return "yes" if settings == rules.from_file else "changed"
