"""On which kind of file system a folder is, by Linux's list of mounts. Pure."""

_ESCAPES = {"\\040": " ", "\\011": "\t", "\\012": "\n", "\\134": "\\"}


def filesystem_of(folder: str, mounts: str) -> str:
    """The kind's name, like ext4; "" if the list does not say. `folder` is absolute, its links
    resolved.

    Source: proc(5), /proc/PID/mountinfo: the mount point is the fifth field, the kind the first
    behind the lone hyphen. Of mounts in one place the last one hides the others.
    """
    best, kind = -1, ""
    for line in mounts.splitlines():
        before, _, after = line.partition(" - ")
        fields, behind = before.split(" "), after.split(" ")
        if len(fields) < 5 or not behind[0]:
            continue
        point = _plain(fields[4])
        is_above = folder == point or folder.startswith(point.rstrip("/") + "/")
        if is_above and len(point) >= best:
            best, kind = len(point), behind[0]
    return kind


def _plain(point: str) -> str:
    for written, char in _ESCAPES.items():
        point = point.replace(written, char)
    return point
