#!/bin/sh
# Makes the version before the current one current again. Installed as /opt/wallpeg/rollback, beside the versions
# and not in one of them, so that a damaged version cannot take it along.
#
#   rollback ready    the service says it is ready
#   rollback ended    the service ended: the third failed start in a row goes back by itself
#   rollback now      go back because somebody asks for it
#
# A start has failed when the service ended before it was ready, or within ten seconds after. Status 69 is not
# counted: the service ends with it when the board lacks what no version can bring (a bus, the pins, a library
# that hangs). The counts lie in /run and are gone with the power.
set -eu
umask 022 # the unit's own would hide from the service's user what is written here

home=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
root=${home%/opt/wallpeg}
unit=$root/etc/systemd/system/wallpeg.service
counts=$root/run/wallpeg-starts
most=3
settled_s=10
unavailable=69

say() { printf 'wallpeg: %s\n' "$*" >&2; }
uptime_s() { cut -d. -f1 /proc/uptime; }

# The version before $1, as the installer noted it beside it: only the name of a folder with a program in it,
# whatever is written there.
version_before() {
    named=$(head -n 1 "$home/versions/$1.before" 2>/dev/null || true)
    case $named in '' | */* | .*) return 1 ;; esac
    [ -x "$home/versions/$named/bin/wallpeg" ] && printf '%s\n' "$named"
}

# WHY: the link is replaced in one step; cut anywhere, one version or the other is current.
back() {
    left=$(basename -- "$(readlink "$home/current")")
    if ! target=$(version_before "$left"); then say "there is no version before $left to go back to"; return 1; fi
    printf '%s\n%s\n' "$left" "$1" >"$home/went-back.new"
    mv -f -- "$home/went-back.new" "$home/went-back"
    # Where two versions name each other (an older one was installed over a newer one), it ends here.
    if [ "$(head -n 1 "$home/versions/$target.before" 2>/dev/null)" = "$left" ]; then rm -f -- "$home/versions/$target.before"; fi
    rm -f -- "$home/current.new"
    ln -s "versions/$target" "$home/current.new"
    mv -T -- "$home/current.new" "$home/current"
    sync "$home"
    own_unit "$target"
    say "$1: went back from $left to $target"
}

# The unit of a version belongs to it.
own_unit() {
    if cmp -s "$home/versions/$1/wallpeg.service" "$unit"; then return 0; fi
    cp "$home/versions/$1/wallpeg.service" "$unit.new"
    chmod 644 "$unit.new"
    mv -f -- "$unit.new" "$unit"
    if [ -z "$root" ] && [ -d /run/systemd/system ]; then systemctl daemon-reload; fi
}

ended() {
    began=$(cat "$counts/ready" 2>/dev/null || true)
    rm -f -- "$counts/ready"
    if [ "${SERVICE_RESULT:-success}" = success ] || [ "${EXIT_STATUS:-}" = "$unavailable" ]; then return 0; fi
    if [ -n "$began" ] && [ $(($(uptime_s) - began)) -ge $settled_s ]; then rm -f -- "$counts/failed"; return 0; fi
    failed=$(($(cat "$counts/failed" 2>/dev/null || echo 0) + 1))
    mkdir -p "$counts"
    printf '%s\n' "$failed" >"$counts/failed"
    [ "$failed" -ge $most ] || return 0
    rm -f -- "$counts/failed"
    back "$failed starts in a row failed" || true
}

case ${1:-} in
    ready) mkdir -p "$counts"; uptime_s >"$counts/ready" ;;
    ended) ended ;;
    now) back "${2:-asked for}" ;;
    *) say "${1:-nothing} is not known here; ready, ended and now are"; exit 2 ;;
esac
