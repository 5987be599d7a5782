#!/bin/sh
# Build the small x86-64 kernel that tests boot under QEMU, from Debian's kernel
# source package, into the user's cache folder; once for each configuration.
#
#   build-kernel.sh     builds it where it is not there yet, prints where it is
#
# Needs (Debian 12): make gcc libc6-dev flex bison bc libelf-dev libssl-dev xz-utils
# PINTLE_KERNEL_SOURCE picks another source package, such as linux-source-6.12.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
pkg=${PINTLE_KERNEL_SOURCE:-linux-source-6.1}
digest=$(sha256sum <"$here/kernel.config" | cut -c1-16)
cache=${XDG_CACHE_HOME:-$HOME/.cache}/pintle
out=$cache/kernel-$digest
mkdir -p "$cache"

# One builder at a time; who had to wait finds the kernel there.
exec 9>"$out.lock"
flock 9
if [ -f "$out/bzImage" ]; then
	echo "$out/bzImage"
	exit
fi
work=$(mktemp -d "$out.building.XXXXXX")
trap 'rm -rf "$work"' EXIT
trap 'exit 1' HUP INT TERM
cd "$work"
echo "building the test kernel from $pkg, once on this machine; about 6 minutes on 2 cores" >&2
apt-get -qq -o APT::Sandbox::User=root download "$pkg" >&2 # no root, nothing installed
dpkg-deb --fsys-tarfile "$pkg"_*.deb | tar -xO "./usr/src/$pkg.tar.xz" | tar -xJ

# Our options and nothing else; fail where Kconfig dropped one of them.
export KBUILD_BUILD_USER=test KBUILD_BUILD_HOST=test
make -s -C "$pkg" O="$work/obj" KCONFIG_ALLCONFIG="$here/kernel.config" allnoconfig >&2
missing=$(grep '^CONFIG_' "$here/kernel.config" | grep -vxFf obj/.config || true)
[ -z "$missing" ] || { echo "not in the final configuration:" $missing >&2; exit 1; }
make -s -C "$pkg" O="$work/obj" -j"$(nproc)" bzImage >&2

# The folder appears whole or not at all.
mkdir done
cp obj/arch/x86/boot/bzImage obj/.config done/
mv done/.config done/kernel.config
rm -rf "$out"
mv done "$out"
echo "$out/bzImage"
