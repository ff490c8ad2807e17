"""The kind of file system a folder is on, by lines as /proc/self/mountinfo has them (proc(5))."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from daq.services.doctor.filesystem import filesystem_of

MOUNTS = """\
22 1 8:1 / / rw,relatime shared:1 - ext4 /dev/sda1 rw
25 22 0:22 / /tmp rw,nosuid - tmpfs tmpfs rw
31 22 0:40 / /home rw,relatime shared:7 master:2 - nfs4 server:/home rw
32 22 0:41 / /mnt/my\\040shop rw - cifs //server/shop rw
33 22 8:2 / /data rw - ext4 /dev/sdb1 rw
34 33 0:50 / /data rw - tmpfs tmpfs rw
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/", "ext4"),
        ("/srv/shop", "ext4"),
        ("/tmp", "tmpfs"),
        ("/tmp/x/y", "tmpfs"),
        ("/tmpx", "ext4"),  # another name, not below it
        ("/home/ada/.local", "nfs4"),
        ("/mnt/my shop/home", "cifs"),
        ("/data/x", "tmpfs"),  # mounted over the other one
    ],
)
def test_the_nearest_mount_above_a_folder_counts(folder: str, kind: str) -> None:
    assert filesystem_of(folder, MOUNTS) == kind


def test_without_a_list_nothing_is_said() -> None:
    assert filesystem_of("/home", "") == ""


@given(st.text(max_size=200))
def test_no_list_is_too_much(mounts: str) -> None:
    assert isinstance(filesystem_of("/home", mounts), str)
