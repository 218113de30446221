"""The page of a comparison in other forms."""

from showvault.report.comparison import as_md_list


def test_lines_that_are_set_in_are_points_and_the_others_paragraphs_in_markdown():
    """CommonMark 0.31, section 5.3, from memory: a blank line parts a paragraph from a list."""
    assert as_md_list(["watch first:", "  cue 1", "  cue *2*", "mind:"]) == [
        *("watch first:", "", "- cue 1", "- cue \\*2\\*", "", "mind:", ""),
    ]
