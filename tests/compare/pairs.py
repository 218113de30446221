"""Two shows compared, from plain trees through their bytes."""

from showvault.compare.changes import Change, Comparison
from showvault.compare.differ import compare_shows
from showvault.show.parts import parts_of_files
from showvault.show.writing import write_show
from tests.builders import Tree


def comparison_of(before: Tree, after: Tree) -> Comparison:
    return compare_shows(*parts_of_files(write_show(before), write_show(after)))


def changes_between(before: Tree, after: Tree) -> tuple[Change, ...]:
    return comparison_of(before, after).changes
