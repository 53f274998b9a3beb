#!/bin/sh
# Installs Wallpeg on a Raspberry Pi: sudo systemd/install.sh. Safe to run again; says what it changes.
#
#   --bus N       the panel sits on I2C bus N (the settings file says the same under [panel])
#   --i2s         the microphone is an I2S one, on the board's digital sound
#   --back        makes the version before the current one current again
#   --uninstall   takes everything away again but the settings file
#
# Without a network it installs from the bundle it lies in (made by systemd/bundle.py elsewhere).
#
# Versions lie side by side in /opt/wallpeg/versions. A new one is put beside the others, tried as the service's
# user under the service's sandbox, and becomes current by one rename of the link /opt/wallpeg/current. Whatever
# ends this script, and the power too, leaves a whole version current. Everything is written under the folder
# WALLPEG_ROOT where that is set; tests do.
set -eu
umask 022

here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
project=$(dirname -- "$here")
bundle=$project/bundle
root=${WALLPEG_ROOT:-}
home=$root/opt/wallpeg
units=$root/etc/systemd/system
unit=$units/wallpeg.service
dropin=$unit.d/bus.conf
rules=$root/etc/udev/rules.d/60-wallpeg.rules
modules=$root/etc/modules-load.d/wallpeg.conf
command=$root/usr/local/bin/wallpeg
boot=$root/boot/firmware
settings=$root/etc/wallpeg.toml
[ -d "$boot" ] && settings=$boot/wallpeg.toml
begin='# wallpeg: the bus of the panel'
end='# wallpeg: end'
room_kb=400000 # a version with its libraries takes about 200 MB
bus=
reboot=no
i2s=no
overlay=dtoverlay=adau7002-simple # made for another chip, and serves plain I2S microphones
task=install

say() { printf '%s\n' "$*"; }
fail() { printf 'install.sh: %s\n' "$*" >&2; exit 1; }
booted() { [ -z "$root" ] && [ -d /run/systemd/system ]; }
system() { if booted; then systemctl "$@"; fi; }
board() { [ -e /proc/device-tree/model ]; }
current() { basename -- "$(readlink "$home/current" 2>/dev/null || true)"; }
bundled() { [ -d "$bundle/wheels" ]; }
python_is() { python3 -c "import sys; sys.exit(not sys.version_info $1)" 2>/dev/null; }

# put FROM TO MODE: brings a file to its place in one step where it differs, and says so.
put() {
    if [ -f "$2" ] && cmp -s "$1" "$2"; then return 1; fi
    mkdir -p "$(dirname -- "$2")"
    install -m "$3" "$1" "$2.new"
    sync "$2.new"
    mv -f -- "$2.new" "$2"
    say "wrote $2"
}

# link TARGET NAME: points a link at something in one step.
link() {
    mkdir -p "$(dirname -- "$2")"
    rm -f -- "$2.new"
    ln -s "$1" "$2.new"
    mv -T -- "$2.new" "$2"
}

# take PATH: removes it if it is there, and says so.
take() {
    if [ -e "$1" ] || [ -L "$1" ]; then rm -rf -- "$1"; say "removed $1"; fi
}

# What can be known to go wrong, before anything is written.
fit() {
    machine=$(dpkg --print-architecture)
    case $machine in
        arm64 | amd64) ;;
        *) fail "this system is of the kind $machine; its libraries come for 64-bit systems only: write the 64-bit Raspberry Pi OS on the card" ;;
    esac
    whole
    if python_is '>= (3,)'; then
        python_is '>= (3, 11)' || fail "Python 3.11 or newer is needed: use Raspberry Pi OS of Debian 12 or 13"
        python_is '< (3, 15)' || fail "systemd/lock.txt knows no libraries for a Python newer than 3.14: use Raspberry Pi OS of Debian 12 or 13"
        if bundled; then bundle_fits; fi
    fi
    mkdir -p "$root/opt"
    free=$(df -Pk "$root/opt" | tail -n 1 | awk '{print $4}')
    [ "$free" -ge $room_kb ] || fail "the card has only $((free / 1000)) MB free, and a new version beside the old one needs $((room_kb / 1000)): remove something and run this again"
}

bundle_fits() {
    tag=$(python3 -c 'import sys; print("cp%d%d" % sys.version_info[:2])')
    ls "$bundle"/wheels/numpy-*-"$tag"-*.whl >/dev/null 2>&1 || fail "this bundle has no libraries for this system's Python $(python3 -c 'import sys; print("%d.%d" % sys.version_info[:2])'); make one that has, with: python3 systemd/bundle.py --python $(python3 -c 'import sys; print("%d.%d" % sys.version_info[:2])')"
}

# Every file of the bundle as it was when the bundle was made, and no other program beside them.
whole() {
    bundled || return 0
    sums=$bundle/SHA256SUMS
    again="carry the bundle over again; nothing was changed"
    [ -f "$sums" ] || fail "the bundle is not whole: its list of files $sums is missing; $again"
    told=$(sed -n 's/^# whole: \([0-9][0-9]*\) files$/\1/p' "$sums")
    [ "${told:-none}" = "$(grep -c '^[0-9a-f]\{64\}  ' "$sums")" ] || fail "the bundle is not whole: its list of files $sums is cut short; $again"
    bad=$(cd "$project" && LC_ALL=C sha256sum --check --strict --quiet "$sums" 2>/dev/null | head -n 1) || true
    [ -z "$bad" ] || fail "the bundle is damaged: ${bad%%: *} is not as it was when the bundle was made; $again"
    stray=$( (cd "$project" && find dsp device demo bundle/wheels -type f ! -path '*/__pycache__/*'; named; named) | sort | uniq -u | head -n 1)
    [ -z "$stray" ] || fail "the bundle is not as it was made: $stray is no part of it; $again"
}

named() { sed -n 's/^[0-9a-f]\{64\}  //p' "$bundle/SHA256SUMS"; }

debian_packages() {
    wanted="libportaudio2 python3"
    if board && ! python_is '< (3, 13)'; then wanted="$wanted python3-lgpio"; fi
    bundled || wanted="$wanted python3-venv"
    missing=
    for package in $wanted; do
        dpkg -s "$package" >/dev/null 2>&1 || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    if ls "$bundle"/debs/*.deb >/dev/null 2>&1; then
        dpkg -i "$bundle"/debs/*.deb
    elif bundled; then
        fail "the Debian packages$missing are needed and there is no network to fetch them from; on a board of the same system with a network run 'apt-get download$missing' (and what they depend on), put the files into $bundle/debs and run this again"
    else
        fetched $missing
    fi
    say "installed the Debian packages$missing"
}

# Package lists may be older than the packages they name, so they are fetched anew before giving up.
fetched() {
    if apt-get install -y --no-install-recommends "$@"; then return 0; fi
    say "fetching newer package lists"
    { apt-get update && apt-get install -y --no-install-recommends "$@"; } ||
        fail "the Debian packages $* cannot be fetched: is there a network? Without one, install from a bundle (python3 systemd/bundle.py on another computer)"
}

# The name of this version: its number, and a digest of all it is made of.
name_of() {
    number=$(sed -n 's/^VERSION = "\(.*\)"$/\1/p' "$project/device/version.py")
    digest=$(cd "$project" && find dsp device demo systemd -type f ! -path '*/__pycache__/*' | LC_ALL=C sort | xargs sha256sum | sha256sum | cut -c 1-8)
    printf '%s-%s\n' "${number:-0}" "$digest"
}

# The version in a folder of its own, beside those that are there.
program() {
    name=$(name_of)
    if [ "$(current)" = "$name" ]; then
        if tried "$home/versions/$name" >/dev/null 2>&1; then say "version $name is there and works"; return 0; fi
        say "version $name is there and does not work any more"
        name=$name.$(date +%s)
    fi
    fresh=$home/versions/$name
    rm -rf -- "$fresh" "$fresh.before"
    mkdir -p "$home/versions"
    libraries
    packages=$("$fresh/bin/python" -c 'import sysconfig; print(sysconfig.get_path("purelib"))')
    cp -R "$project/dsp" "$project/device" "$project/demo" "$packages/"
    find "$packages" -name __pycache__ -type d -prune -exec rm -rf {} +
    system_lgpio "$packages"
    printf '#!%s/bin/python -I\nimport sys\nfrom device.__main__ import main\nsys.exit(main())\n' "$fresh" >"$fresh/bin/wallpeg"
    cp "$here/wallpeg.service" "$fresh/"
    for part in dsp device demo; do
        "$fresh/bin/python" -m compileall -q "$packages/$part" || discarded "a file of $part is damaged"
    done
    chmod -R u=rwX,go=rX "$fresh" # whatever the modes of the sources and the mask of whoever runs this
    chmod 755 "$fresh/bin/wallpeg"
    tried "$fresh" || discarded "it does not work as the service's user"
    sync -f "$fresh"
    say "wrote $fresh"
}

discarded() {
    rm -rf -- "$fresh"
    now=$(current)
    rest="nothing else was changed"
    if [ -n "$now" ]; then rest="version $now goes on as before"; fi
    fail "the new version is not used: $1; $rest"
}

# The libraries of lock.txt, each with its hash, from the bundle or from the network.
libraries() {
    if bundled; then
        python3 -m venv --without-pip "$fresh"
        set -- "$(ls "$bundle"/wheels/pip-*.whl)/pip" install --no-index --find-links "$bundle/wheels"
        why="its libraries cannot be installed from the bundle"
    else
        python3 -m venv "$fresh"
        set -- -m pip install --retries 2
        why="its libraries cannot be fetched: is there a network? Without one, install from a bundle (python3 systemd/bundle.py on another computer)"
    fi
    heard=$("$fresh/bin/python" "$@" --quiet --disable-pip-version-check --no-deps --require-hashes --only-binary=:all: \
        -r "$here/lock.txt" 2>&1) || discarded "$why; pip says: $(printf '%s\n' "$heard" | grep -m 1 '^ERROR' || printf '%s\n' "$heard" | tail -n 1)"
}

# tried FOLDER: the program's own check, without the parts, as the service's user under its sandbox; where no
# service manager runs, as a user with no rights.
tried() {
    if ! booted; then tried_as_nobody "$1"; return; fi
    trial=/run/systemd/system/wallpeg-trial.service
    mkdir -p "${trial%/*}"
    sed -e '/^\(WatchdogSec\|Restart\|RestartSec\|ExecStartPost\|ExecStopPost\|StateDirectory\|StartLimitIntervalSec\)=/d' \
        -e "s|^ExecStart=.*|ExecStart=$1/bin/wallpeg check --no-parts|" -e 's/^Type=.*/Type=oneshot\nTimeoutStartSec=300/' \
        -e 's|=wallpeg$|=wallpeg-trial|; s|/run/wallpeg$|/run/wallpeg-trial|' \
        -e '/^\[Install\]/,$d' "$here/wallpeg.service" >"$trial"
    systemctl daemon-reload
    verdict=0
    systemctl start wallpeg-trial.service 2>/dev/null || verdict=$?
    [ $verdict = 0 ] || journalctl -u wallpeg-trial -n 8 -o cat --no-pager >&2 || true
    rm -f -- "$trial"
    systemctl daemon-reload
    return $verdict
}

tried_as_nobody() {
    scratch=$(mktemp -d)
    chown 65534:65534 "$scratch"
    verdict=0
    (cd "$scratch" && env -i PATH="$PATH" LG_WD="$scratch" HOME="$scratch" OPENBLAS_NUM_THREADS=1 \
        setpriv --reuid=65534 --regid=65534 --clear-groups --no-new-privs \
        "$1/bin/wallpeg" check --no-parts) || verdict=$?
    rm -rf -- "$scratch"
    return $verdict
}

# Where the pin driver has no wheel, the system's own package is used.
system_lgpio() {
    "$fresh/bin/python" -c 'import importlib.util as u, sys; sys.exit(u.find_spec("lgpio") is None)' && return 0
    found=$(cd / && /usr/bin/python3 -c 'import importlib.util as u
for name in ("lgpio", "_lgpio"):
    spec = u.find_spec(name)
    print(spec.origin if spec else "")' | grep . || true)
    if [ -z "$found" ]; then
        say "no pin driver: the package python3-lgpio of Raspberry Pi OS is not installed, so the buttons will not work"
        return 0
    fi
    for file in $found; do ln -sf "$file" "$1/"; done
    say "linked the pin driver of the package python3-lgpio"
}

# The one step: from here on the new version is current.
switch() {
    now=$(current)
    if [ "$now" = "$name" ]; then return 0; fi
    if [ -n "$now" ]; then printf '%s\n' "$now" >"$home/versions/$name.before"; fi
    rm -f -- "$home/went-back"
    sync -f "$home"
    link "versions/$name" "$home/current"
    sync -f "$home"
    say "version $name is current${now:+, $now before it}"
}

# What is neither current nor the one before it; and a program of the time when there was one version only.
prune() {
    kept=$(head -n 1 "$home/versions/$name.before" 2>/dev/null || true)
    for path in "$home"/versions/*; do
        case ${path##*/} in
            "$name" | "$name.before" | "${kept:-$name}") ;;
            *) take "$path" ;;
        esac
    done
    for old in bin include lib lib64 share pyvenv.cfg; do take "$home/$old"; done
    take "$home.new"
    take "$home.old"
}

groups() {
    for group in audio gpio i2c; do
        grep -q "^$group:" "$root/etc/group" || { groupadd --system ${root:+--prefix "$root"} "$group"; say "made the group $group"; }
    done
}

# I2C on and at 400 kHz, between two marks in the boot configuration.
boot_configuration() {
    config=$boot/config.txt
    if [ ! -f "$config" ]; then
        say "no $config: turn on I2C yourself, at 400 kHz"
        return 0
    fi
    if ! grep -qxF "$begin" "$config"; then
        cp "$config" "$config.new"
        printf '\n%s\n[all]\ndtparam=i2c_arm=on\ndtparam=i2c_arm_baudrate=400000\n%s\n' "$begin" "$end" >>"$config.new"
        new_configuration "turned on I2C at 400 kHz"
    fi
    if [ "$i2s" = yes ] && ! grep -qxF "$overlay" "$config"; then
        sed "s/^$end\$/dtparam=i2s=on\n$overlay\n&/" "$config" >"$config.new"
        new_configuration "turned on an I2S microphone"
    fi
}

new_configuration() { # $1: what was changed in it
    sync "$config.new"
    mv -f -- "$config.new" "$config"
    say "$1 in $config"
    reboot=yes
}

panel_bus() {
    [ -n "$bus" ] || bus=$(sed -n 's/^[[:space:]]*i2c_bus[[:space:]]*=[[:space:]]*\([0-9][0-9]*\).*/\1/p' "$settings" | head -n 1)
    if [ "${bus:-1}" = 1 ]; then take "$dropin"; return 0; fi
    draft=$(mktemp)
    printf '%s\n' '# Written by install.sh: the panel sits on another bus.' '[Service]' 'DeviceAllow=' \
        'DeviceAllow=char-alsa rw' 'DeviceAllow=char-gpiochip rw' "DeviceAllow=/dev/i2c-$bus rw" >"$draft"
    put "$draft" "$dropin" 644 || true
    rm -f -- "$draft"
}

uninstall() {
    system disable --now wallpeg.service >/dev/null 2>&1 || true
    booted || rm -f -- "$units/multi-user.target.wants/wallpeg.service"
    for path in "$unit" "$unit.d" "$rules" "$modules" "$command" "$home" "$home.new" "$home.old" "$root/var/lib/wallpeg" "$root/var/lib/private/wallpeg"; do
        take "$path"
    done
    if [ -f "$boot/config.txt" ] && grep -qxF "$begin" "$boot/config.txt"; then
        sed "/^$begin\$/,/^$end\$/d" "$boot/config.txt" >"$boot/config.txt.new"
        mv -f -- "$boot/config.txt.new" "$boot/config.txt"
        say "took the bus of the panel out of $boot/config.txt (after the next start)"
    fi
    system daemon-reload
    if [ -f "$settings" ]; then say "left $settings as it is; the groups audio, gpio and i2c stay too"; fi
    say "Wallpeg is gone."
}

back() {
    [ -x "$home/rollback" ] || fail "Wallpeg is not installed here, so there is nothing to go back to"
    "$home/rollback" now || exit 1
    system restart wallpeg.service || say "It did not start: journalctl -u wallpeg says why."
}

# Starts it, and stays until the service is up or has gone back to the version before.
start() {
    systemctl restart wallpeg.service || true
    for _ in 1 2 3 4 5 6 7 8 9 10; do
        if [ "$(current)" != "$name" ]; then fail "version $name did not start and the box went back to $(current): journalctl -u wallpeg says why"; fi
        if systemctl --quiet is-active wallpeg.service; then return 0; fi
        sleep 2
    done
    say "It did not start: journalctl -u wallpeg says why."
}

while [ $# -gt 0 ]; do
    case $1 in
        --bus) [ $# -gt 1 ] || fail "--bus needs a number, like --bus 3"; bus=$2; shift ;;
        --i2s) i2s=yes ;;
        --back) task=back ;;
        --uninstall) task=uninstall ;;
        *) fail "$1 is not known here; --bus N, --i2s, --back and --uninstall are" ;;
    esac
    shift
done
case $bus in *[!0-9]*) fail "--bus $bus is no number; --bus 3 is one" ;; esac
[ "$(id -u)" = 0 ] || fail "this changes the system: run it with sudo"
case $task in
    back) back; exit 0 ;;
    uninstall) uninstall; exit 0 ;;
esac

fit
debian_packages
groups
program
put "$here/rollback.sh" "$home/rollback" 755 || true
if [ ! -f "$settings" ]; then put "$here/wallpeg.toml" "$settings" 644; else say "left $settings as it is"; fi
put "$here/60-wallpeg.rules" "$rules" 644 || true
if put "$here/modules-load.conf" "$modules" 644 && booted; then systemctl restart systemd-modules-load.service || true; fi
boot_configuration
panel_bus
switch
put "$here/wallpeg.service" "$unit" 644 || true
if [ "$(readlink "$command" || true)" != "$home/current/bin/wallpeg" ]; then
    link "$home/current/bin/wallpeg" "$command"
    say "wrote $command"
fi
if booted; then
    udevadm control --reload 2>/dev/null || true
    udevadm trigger --subsystem-match=gpio --subsystem-match=i2c-dev 2>/dev/null || true
    systemctl daemon-reload
fi
systemctl ${root:+--root="$root"} enable --quiet wallpeg.service
say "Wallpeg starts whenever the board is switched on."
if [ "$reboot" = yes ]; then
    prune
    say "A restart of the board is due: sudo reboot. Then try the parts one by one: sudo wallpeg check"
elif booted; then
    start
    prune
    say "Now try the parts one by one: sudo wallpeg check"
else
    prune
    say "Start the board, then try the parts one by one: sudo wallpeg check"
fi
