"""What to mind: the one place from which cautions are shown. Their texts are the facts table."""

from .. import facts, site
from ..markup import safe
from ..units import one_of

CLOSING = "Local code and licensed practice decide."
"""The last word of every list of cautions."""


def cautions(kinds=None):
    """What to mind where an antenna is put up: a DataFrame with key, topic, caution, source, status.

    Parameters: ``kinds`` one kind of mount or several (mast, roof, attic, window, room, balcony,
    vehicle, boat), None for all. Raises ValueError for another kind.

    >>> cautions("vehicle")["topic"].iloc[0]
    'power lines'
    """
    kinds = site.MOUNT_KINDS if kinds is None else (kinds,) if isinstance(kinds, str) else kinds
    kinds = [one_of("kind", kind, site.MOUNT_KINDS) for kind in kinds]
    rows = facts.table("cautions")
    apply = [bool(set(when.split(";")) & set(kinds)) for when in rows["when"]]
    return rows.loc[apply].drop(columns="when").reset_index(drop=True)


def first_cautions(kinds=None, most=3):
    """The cautions to know first, one of a topic, and how many more there are: (DataFrame, int).

    Parameters: ``kinds`` as in ``cautions``; ``most`` of them.

    >>> first_cautions("roof")[0]["topic"].tolist()
    ['power lines', 'on the roof', 'ladders']
    """
    rows = cautions(kinds)
    first = rows.drop_duplicates("topic").head(int(most))
    return first, len(rows) - len(first)


def cautions_html(kinds=None):
    """The cautions for these mounts as one HTML list, by topic, with their closing sentence.

    Parameters: ``kinds`` as in ``cautions``.

    >>> cautions_html("room").endswith("<p>Local code and licensed practice decide.</p></div>")
    True
    """
    rows = cautions(kinds)
    topics = ""
    for topic, of_topic in rows.groupby("topic", sort=False):
        sentences = safe(" ".join(of_topic["caution"]))
        topics += f"<li><strong>{safe(topic.capitalize())}.</strong> {sentences}</li>"
    return f'<div class="cautions"><ul>{topics}</ul><p>{safe(CLOSING)}</p></div>'
