"""Remarks found with their places, and put back where their places went."""

import tomllib

from daq.plan.drafting.remarks import END, Remark, moved, remarks_in, without

TEXT = """\
# head
schema = 1
part = "a # no remark"  # part
[check]  # checks
readings = 5
# before the list
angles = [
    0,  # first
    45,
]
text = '''
# no remark either
'''
[[group]]
name = "a"
[[group.undersize]]
# step
name = "0.25"
[[group]]
name = "b"  # second
# end
"""


def test_remarks_are_found_with_the_table_and_key_that_they_belong_to() -> None:
    assert remarks_in(TEXT) == {
        ("", "schema"): Remark(("# head",)),
        ("", "part"): Remark((), "# part"),
        ("check", ""): Remark((), "# checks"),
        ("check", "angles"): Remark(("# before the list", "# first")),
        ("group[1].undersize[1]", "name"): Remark(("# step",)),
        ("group[2]", "name"): Remark((), "# second"),
        END: Remark(("# end",)),
    }


def test_remarks_follow_a_table_by_its_name_and_those_of_one_that_is_gone_go_to_the_end() -> None:
    found = remarks_in(TEXT)
    before = tomllib.loads(TEXT)
    after = {**before, "group": [before["group"][1]]}
    placed = moved(found, before, after)
    assert placed["group[1]", "name"] == Remark((), "# second")
    assert placed[END] == Remark(("# step", "# end"))


def test_remarks_that_the_program_writes_itself_are_not_those_of_people() -> None:
    found = {("", "part"): Remark(("# theirs", "# ours"), "# ours too")}
    ours = {("", "x"): Remark(("# ours",), "# ours too")}
    assert without(found, ours) == {("", "part"): Remark(("# theirs",))}
