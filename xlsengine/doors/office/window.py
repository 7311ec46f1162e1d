"""The list of what a check found, in a small window that stays open beside the workbook; its dialogs are UNO's."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from importlib import import_module
from typing import Any

_WIDTH, _HEIGHT, _EDGE, _BUTTON = 300, 190, 6, 52
_FROM_EDGE = 60
_MODEL = "com.sun.star.awt.UnoControl{}Model"
OPEN: list[Any] = []
"""The window that stands open, kept so that it is not thrown away; there is one at most."""


def show(context: Any, title: str, lines: Sequence[str], go: Callable[[int], None] | None = None) -> Any:
    """Show lines in a window in the place of the one before; choosing one calls `go` with its place. Returns the window."""
    close()
    dialog, model = _dialog(context, title)
    buttons = ("previous", "next", "close") if go else ("close",)
    _controls(model, lines, buttons, bool(go))
    window = _Window(dialog, lines, go)
    window.listen(buttons)
    dialog.setVisible(True)
    OPEN.append(window)
    return window


def close() -> None:
    """Close the window that stands open."""
    while OPEN:
        OPEN.pop().dialog.dispose()


def _dialog(context: Any, title: str) -> tuple[Any, Any]:
    make = context.ServiceManager.createInstanceWithContext
    model = make(_MODEL.format("Dialog"), context)
    model.Width, model.Height, model.Title = _WIDTH, _HEIGHT, title
    model.Closeable = model.Moveable = True
    dialog = make("com.sun.star.awt.UnoControlDialog", context)
    dialog.setModel(model)
    frame = make("com.sun.star.frame.Desktop", context).getCurrentFrame()
    parent = frame.getContainerWindow() if frame is not None else None
    dialog.createPeer(make("com.sun.star.awt.Toolkit", context), parent)
    if parent is not None:
        _to_the_corner(dialog, parent)
    return dialog, model


def _to_the_corner(dialog: Any, parent: Any) -> None:
    """Put the window into the lower right corner of the workbook's, off the menu and the first columns."""
    around, own = parent.getPosSize(), dialog.getPosSize()
    right, down = around.Width - own.Width - _FROM_EDGE, around.Height - own.Height - _FROM_EDGE
    dialog.setPosSize(max(0, right), max(0, down), 0, 0, 3)  # com.sun.star.awt.PosSize.POS


def _controls(model: Any, lines: Sequence[str], buttons: Sequence[str], chosen: bool) -> None:
    """Put a list and what is said in full below it, or the text alone, and buttons at the foot."""
    inner, foot = _WIDTH - 2 * _EDGE, _HEIGHT - 20
    half = (foot - 2 * _EDGE) * 5 // 8 if chosen else 0
    if chosen:
        _add(model, "ListBox", "list", _EDGE, _EDGE, inner, half, StringItemList=tuple(lines))
    _add(
        model,
        "Edit",
        "words",
        _EDGE,
        _EDGE * 2 + half if chosen else _EDGE,
        inner,
        foot - half - 3 * _EDGE,
        MultiLine=True,
        ReadOnly=True,
        VScroll=True,
        Text="" if chosen else "\n\n".join(lines),
    )
    for place, name in enumerate(buttons):
        _add(model, "Button", name, _EDGE + place * (_BUTTON + _EDGE), foot, _BUTTON, 14, Label=name.capitalize())


def _add(model: Any, kind: str, name: str, left: int, top: int, width: int, height: int, **properties: Any) -> None:
    control = model.createInstance(_MODEL.format(kind))
    control.PositionX, control.PositionY, control.Width, control.Height = left, top, width, height
    for key, value in properties.items():
        setattr(control, key, value)
    model.insertByName(name, control)


class _Window:
    """A window with its lines: which is chosen, and what that does."""

    def __init__(self, dialog: Any, lines: Sequence[str], go: Callable[[int], None] | None) -> None:
        self.dialog, self.lines, self.go = dialog, lines, go
        self.place = -1

    def listen(self, buttons: Sequence[str]) -> None:
        """Call what each button and the list stand for."""
        acts: dict[str, Callable[[], None]] = {
            "previous": lambda: self.choose(self.place - 1),
            "next": lambda: self.choose(self.place + 1),
            "close": close,
        }
        for name in buttons:
            self.dialog.getControl(name).addActionListener(_listener("XActionListener", "actionPerformed", acts[name]))
        self.dialog.addTopWindowListener(_closing())
        if self.go:
            chosen = _listener("XItemListener", "itemStateChanged", self._clicked)
            self.dialog.getControl("list").addItemListener(chosen)

    def choose(self, place: int) -> None:
        """Choose a line, from the last one on to the first."""
        place %= len(self.lines)
        self.dialog.getControl("list").selectItemPos(place, True)
        self._chosen(place)

    def _clicked(self) -> None:
        self._chosen(self.dialog.getControl("list").getSelectedItemPos())

    def _chosen(self, place: int) -> None:
        if self.go and place != self.place and 0 <= place < len(self.lines):
            self.place = place
            self.dialog.getControl("words").setText(self.lines[place])
            self.go(place)


def _listener(kind: str, method: str, act: Callable[[], None]) -> Any:
    """Return a listener that calls `act` when its one method is called."""
    import uno

    base = uno.getClass(f"com.sun.star.awt.{kind}")
    methods = {method: lambda self, event: act(), "disposing": lambda self, event: None}
    return type("Listener", (import_module("unohelper").Base, base), methods)()


def _closing() -> Any:
    """Return a listener that lets a person close the window by its frame."""
    import uno

    names = ("Opened", "Closed", "Minimized", "Normalized", "Activated", "Deactivated")
    methods: dict[str, Any] = {f"window{name}": lambda self, event: None for name in names}
    methods.update(windowClosing=lambda self, event: close(), disposing=lambda self, event: None)
    return type(
        "Closing", (import_module("unohelper").Base, uno.getClass("com.sun.star.awt.XTopWindowListener")), methods
    )()
