"""Runs on MicroPython: which version a board starts when the power goes at any one change of its flash.

    micropython install_power_cut.py IMAGE NOTES CHOOSE_VERSION

prints a line for each change in NOTES and each way that it can tear: the folder that choose_version.py puts into use,
and a digest of all files in it and of the coefficients.
"""

import binascii
import hashlib
import io
import os
import sys

import vfs

from tests.on_micropython.board.flash import Flash, changes_in


def digest_of(folder):
    """Return a digest of the files in a folder, of its folders' too, and of their names."""
    h = hashlib.sha256()
    for name in sorted([entry[0] for entry in os.ilistdir(folder)]):
        path = folder + "/" + name
        h.update(path.encode())
        if os.stat(path)[0] & 0x4000:
            h.update(digest_of(path))
        else:
            with open(path, "rb") as file:
                h.update(file.read())
    return h.digest()


def chosen(source):
    """Return the folder that choose_version.py puts into use."""
    sys.modules["main"] = sys  # what would run
    kept = list(sys.path)
    exec(source, {})
    folder = sys.path[0] if sys.path != kept else "none"
    sys.path[:] = kept
    return folder


def start(image, source):
    """Return what a board with this flash starts, and a digest of it and of the coefficients."""
    vfs.mount(vfs.VfsLfs2(Flash(io.BytesIO(image)), progsize=256), "/")
    folder = chosen(source)
    h = hashlib.sha256(digest_of(folder))
    for name in ("coefficients_a.bin", "coefficients_b.bin"):
        if name in os.listdir("/"):
            with open("/" + name, "rb") as file:
                h.update(file.read())
    vfs.umount("/")
    return folder + " " + binascii.hexlify(h.digest()[:8]).decode()


def torn(image, place, data):
    """Yield what the flash may be after a change that the power cuts: half done, done."""
    for size in (len(data) // 2, len(data)):
        after = bytearray(image)
        after[place : place + size] = data[:size]
        yield after


def run(image_name, notes_name, source_name):
    with open(image_name, "rb") as file:
        image = bytearray(file.read())
    with open(source_name) as file:
        source = file.read()
    with open(notes_name, "rb") as file:
        changes = list(changes_in(file))
    vfs.umount("/")
    for place, data in changes:
        for after in torn(image, place, data):
            print(start(after, source))
        image[place : place + len(data)] = data


run(*sys.argv[1:])
