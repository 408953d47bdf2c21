# For scripts that try something in a bare Debian root: makes it, gives it a display, takes it away again.
# Sourced by .ci/install and .ci/fresh-root. Needs root, debootstrap, Xvfb, xdotool, x11-utils and imagemagick.
# shellcheck shell=bash

fail() { echo "${0##*/}: $*" >&2; exit 1; }

[ "$(id -u)" = 0 ] || fail "making a root of its own needs root"
for tool in debootstrap Xvfb xdotool xprop import; do
    command -v "$tool" >/dev/null ||
        fail "$tool is missing: apt-get install debootstrap xvfb xdotool x11-utils imagemagick"
done

folder=$(mktemp -d)
root=$folder/root
pids=()
mounts=()

finish() {
    local pid mount
    for pid in "${pids[@]}"; do kill "$pid" 2>/dev/null || true; done
    for pid in "${pids[@]}"; do wait "$pid" 2>/dev/null || true; done
    # What still runs in there, and nothing else, keeps the mounts busy.
    for pid in /proc/[0-9]*; do
        case $(readlink "$pid/root" 2>/dev/null) in "$root") kill "${pid#/proc/}" 2>/dev/null || true ;; esac
    done
    sleep 0.5
    for mount in "${mounts[@]}"; do
        umount "$mount" || { echo "${0##*/}: $mount is still mounted, $folder is left" >&2; return; }
    done
    rm -rf --one-file-system "$folder"
}
trap finish EXIT

# Mounts into the root: a place outside, the place within, and options.
mount_in() {
    mkdir -p "$root$2"
    mount --bind "$1" "$root$2"
    mounts=("$root$2" "${mounts[@]}")
    if [ -n "${3-}" ]; then mount -o "remount,bind,$3" "$root$2"; fi
}

# A root with what every Debian has, and nothing else: the suite.
make_root() {
    echo "Making a bare root of Debian $1"
    debootstrap --variant=minbase "$1" "$root" >"$folder/debootstrap.log" 2>&1 ||
        { tail -n 20 "$folder/debootstrap.log" >&2; fail "debootstrap failed"; }
    cp /etc/resolv.conf "$root/etc/resolv.conf"
    # A network that shows certificates of its own is known here by them.
    if compgen -G '/usr/local/share/ca-certificates/*.crt' >/dev/null; then
        mkdir -p "$root/usr/local/share/ca-certificates"
        cp /usr/local/share/ca-certificates/*.crt "$root/usr/local/share/ca-certificates/"
    fi
    mkdir -p "$root/proc"
    mount -t proc proc "$root/proc"
    mounts=("$root/proc" "${mounts[@]}")
    # Services have nothing to do in there.
    printf '#!/bin/sh\nexit 101\n' >"$root/usr/sbin/policy-rc.d"
    chmod +x "$root/usr/sbin/policy-rc.d"
    in_root sh -c '. /etc/os-release; echo "$PRETTY_NAME, $(ldd --version | head -n 1)"'
}

# Runs something in the root, with nothing of this machine's environment.
in_root() {
    chroot "$root" /usr/bin/env -i HOME=/root LANG=C.UTF-8 DEBIAN_FRONTEND=noninteractive \
        PATH="${in_root_path:-/usr/local/sbin:/usr/local/bin:/usr/sbin:/usr/bin:/sbin:/bin}" "$@"
}

# A display of its own, which the root can reach by its socket; sets DISPLAY. It does not begin anew whenever its last
# client has left: a window that comes at that moment would be turned away.
display() {
    Xvfb -displayfd 3 -screen 0 1280x800x24 -nolisten tcp -noreset -ac 3>"$folder/display" 2>"$folder/xvfb.log" &
    pids+=($!)
    for _ in $(seq 100); do [ -s "$folder/display" ] && break; sleep 0.1; done
    [ -s "$folder/display" ] || fail "no display: $(cat "$folder/xvfb.log")"
    DISPLAY=:$(cat "$folder/display")
    export DISPLAY
    mount_in /tmp/.X11-unix /tmp/.X11-unix ro
}

# Waits for the editor's window: the process that opens it, seconds, and the log in which it tells of faults.
# Sets `window`.
wait_for_window() {
    local _
    for _ in $(seq "$2"); do
        window=$(xdotool search --onlyvisible --class '^keepside$' 2>/dev/null | tail -n 1 || true)
        [ -n "$window" ] && return
        kill -0 "$1" 2>/dev/null || { tail -n 30 "$3" >&2; fail "it ended without a window"; }
        sleep 1
    done
    tail -n 30 "$3" >&2
    fail "no window in $2 s"
}
