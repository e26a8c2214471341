"""Whether a folder lies on another computer: the system tells of no change that was made there.

Names are those of file system types as the systems' own tables of mounts print them.
"""

from __future__ import annotations

import os
from pathlib import Path

_ELSEWHERE = frozenset(
    [
        *("nfs", "nfs4", "cifs", "smb3", "smbfs", "smb2", "ncpfs", "afs", "afpfs", "webdav", "davfs", "ftp"),
        *("9p", "ceph", "glusterfs", "lustre", "gfs2", "ocfs2", "beegfs", "vboxsf", "vmhgfs", "prl_fs", "virtiofs"),
        *("drvfs", "acfs", "macfuse", "osxfuse"),
    ]
)
_LOCAL_FUSE = frozenset(["fuseblk", "fuse.portal"])  # drives formatted for another system


def lies_elsewhere(folder: Path) -> bool:
    """Whether `folder` is on a network drive, a share of a host system or the like.  Unknown counts as here."""
    name = str(folder)
    if name.startswith(("\\\\", "//")) and os.name == "nt":
        return True
    kind, options = _mount_of(folder)
    return is_remote(kind, options)


def is_remote(kind: str, options: str = "") -> bool:
    """Whether a file system type (with the mount's options) is one of another computer."""
    low = kind.lower()
    if "remote" in options.split(","):
        return True
    return low in _ELSEWHERE or (low.startswith("fuse.") and low not in _LOCAL_FUSE)


def _mount_of(folder: Path) -> tuple[str, str]:
    """Type and options of the mount that holds `folder`; empty where the system does not tell."""
    import psutil

    try:
        real = folder.resolve()
        mounts = psutil.disk_partitions(all=True)
    except (OSError, RuntimeError, psutil.Error):
        return "", ""
    best = ("", "", "")
    for mount in mounts:
        point = Path(mount.mountpoint)
        # The later of two mounts on one point lies on top.
        if (point == real or point in real.parents) and len(mount.mountpoint) >= len(best[0]):
            best = (mount.mountpoint, mount.fstype, mount.opts)
    return best[1], best[2]
