"""Where a casebook may lie: SQLite's write-ahead log needs a disk of this computer (sqlite.org/wal.html)."""

import sys
from pathlib import Path

FAR = "keep the casebook on a disk of this computer, hand cases over as archives, or use a server for several people"
_FAR = ("nfs", "cifs", "smb", "9p", "afs", "ceph", "glusterfs", "fuse.sshfs", "fuse.rclone", "davfs")
MOUNTS = Path("/proc/mounts")


def far_folder(path: Path) -> str:
    """What kind of network drive a file lies on, "" for a disk of this computer (or where nobody can tell)."""
    full = str(path.absolute())
    if sys.platform == "win32":
        return "a network drive" if full.startswith(("\\\\", "//")) else ""
    try:
        rows = [row.split() for row in MOUNTS.read_text(encoding="utf-8", errors="replace").splitlines()]
    except OSError:
        return ""
    mounted = [(row[1].replace("\\040", " "), row[2]) for row in rows if len(row) > 2]
    under = [(place, kind) for place, kind in mounted if place == "/" or f"{full}/".startswith(f"{place}/")]
    kind = max(under, key=lambda row: len(row[0]))[1] if under else ""
    return f"a network drive ({kind})" if kind.startswith(_FAR) else ""
