"""The distribution's own kernel: its image in the form that boots fastest, and some modules."""

import lzma
import re
import struct
from pathlib import PurePosixPath

from tests.system.machine.archive import Entry, Tree, file

MODULES = (
    *("virtio_pci", "virtio_console", "9pnet_virtio", "9p"),  # to reach the host
    *("dummy_hcd", "libcomposite", "usb_f_acm", "usb_f_hid"),  # the gauges' side
    *("xhci_pci", "cdc_acm", "ftdi_sio", "usbhid", "hid_generic", "evdev"),  # this side
)
"""What the guest gets, and whatever these need."""

_DEPENDS = re.compile(rb"(?:^|\0)depends=([\w,-]*)\0")


def module_name(path: str) -> str:
    """The name that modprobe knows: `…/usb-common.ko.xz` is usb_common."""
    return PurePosixPath(path).name.partition(".ko")[0].replace("-", "_")


def dependencies(module: bytes) -> tuple[str, ...]:
    """The modules that an (unpacked) module says it needs, as modprobe knows them."""
    found = _DEPENDS.search(module)
    names = found[1].decode().replace("-", "_").split(",") if found else []
    return tuple(name for name in names if name)


def with_dependencies(wanted: tuple[str, ...], kernel: Tree) -> Tree:
    """The wanted modules and all that they need, from a kernel package; unpacked.

    A module that is not there is taken as built in: the guest's modprobe then finds it so, or the
    boot fails loudly.
    """
    by_name = {module_name(path): path for path in kernel if ".ko" in PurePosixPath(path).name}
    chosen: Tree = {}
    todo = list(wanted)
    while todo:
        path = by_name.get(todo.pop(), "")
        place = path.removesuffix(".xz")
        if not path or place in chosen:
            continue
        data = kernel[path].data
        data = lzma.decompress(data) if path.endswith(".xz") else data
        chosen[place] = file(data)
        todo += dependencies(data)
    lists = {path: entry for path, entry in kernel.items() if _is_list(path)}
    return chosen | lists


def _is_list(path: str) -> bool:
    return PurePosixPath(path).name in (
        "modules.builtin",
        "modules.builtin.modinfo",
        "modules.order",
    )


def image(kernel: Tree) -> bytes:
    """The kernel for `qemu -kernel`: the ELF inside the compressed image, which spares the guest
    the unpacking, or the image itself where it is not compressed by xz.

    Source: payload_offset and payload_length, the kernel's Documentation/arch/x86/boot.rst.
    """
    packed = _image_entry(kernel).data
    setup_sectors = packed[0x1F1] or 4
    offset, length = struct.unpack_from("<II", packed, 0x248)
    start = (setup_sectors + 1) * 512 + offset
    try:
        elf = lzma.LZMADecompressor(lzma.FORMAT_XZ).decompress(packed[start : start + length])
    except lzma.LZMAError:
        return packed
    return elf if elf.startswith(b"\x7fELF") else packed


def _image_entry(kernel: Tree) -> Entry:
    return next(entry for path, entry in kernel.items() if path.startswith("boot/vmlinuz-"))
