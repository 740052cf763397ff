"""What a sign at the meter usually means, and what to do about it."""

from ... import facts
from ..cards import table_card


def fault_card():
    """Signs, likely causes and what to do, as a Card; from the facts table ``faults``.

    >>> fault_card().text.splitlines()[0]
    'what you see | likely | then'
    """
    rows = facts.table("faults")[["sign", "likely", "then"]]
    groups = [("", [tuple(row) for row in rows.itertuples(index=False)])]
    return table_card(["what you see", "likely", "then"], groups)
