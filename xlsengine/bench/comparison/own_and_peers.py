"""Tables of this motor beside its peers: theirs as they were kept, typed once, and its own row live."""

from xlsengine.bench.declaring.declare import Field, FieldKind, Table
from xlsengine.expression import Column, Node
from xlsengine.sources import definition

_KEPT = definition("as kept in the library when this workbook was written")


class OwnAndPeers(Table):
    """A table of motors; its first column tells this motor's own row from those of its peers."""

    def kept(self, name: str, label: str, unit: str = "", decimals: int = 0, text: bool = False) -> Column:
        """Add a figure of the peers, as the library keeps it."""
        kind: FieldKind = "text" if text else "number"
        said = (f"kept_{name}", f"Kept: {label}", unit, "Typed once.", kind)
        return self.write_once(Field(*said, decimals=decimals, helper=True, source=_KEPT))

    def taken(
        self, name: str, label: str, live: Node, unit: str = "", decimals: int = 0, helper: bool = False
    ) -> Column:
        """Add a figure: of this motor `live`, of the others as kept."""
        kept = self.kept(name, label, unit, decimals, live.is_text)
        return self.column(name, label, unit, decimals=decimals, helper=helper).derive(
            self.is_own.where(live, kept), "Of a peer, as it was kept; of this motor, live."
        )

    @property
    def is_own(self) -> Node:
        """Tell, in a row, whether it is this motor's."""
        return Column(self.name, "kept_own").equals(1)
