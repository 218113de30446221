"""Whether a show file is another format's copy of a show that stands beside it.

A desk may export in a format that holds less than the show that is saved beside it. Taken for the
show in turn, each save would read as an upheaval: all that the other format does not hold removed.
So the format of the show stays while its file is there.
"""

from collections.abc import Callable

from showvault.flows.incoming import IncomingFile, name_of
from showvault.vault.versions import Version, VersionFile


def say_another_format(
    one: IncomingFile, newest: Version, stands_there: Callable[[VersionFile], bool]
) -> str:
    """Say that a show file is in another format than the newest show; empty where it may follow."""
    show = newest.show_file
    if one.cut is None or show is None or not newest.reader:
        return ""
    if _format(one.reader) == _format(newest.reader) or not stands_there(show):
        return ""
    name = name_of(one.file.path.name)
    return (
        f"{name} is kept as it is and not described: the show here is {show.name}, in another "
        f"format. If {name} is the show from now on, take {show.name} out of the folder"
    )


def _format(reader: str) -> str:
    return reader.partition("/")[0]
