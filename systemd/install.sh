#!/bin/sh
# Installs Wallpeg on a Raspberry Pi: sudo systemd/install.sh. Safe to run again; says what it changes.
#
#   --bus N       the panel sits on I2C bus N (the settings file says the same under [panel])
#   --uninstall   takes everything away again but the settings file
#
# Without a network it installs from the bundle it lies in (made by systemd/bundle.py elsewhere).
set -eu

here=$(CDPATH='' cd -- "$(dirname -- "$0")" && pwd)
project=$(dirname -- "$here")
bundle=$project/bundle
home=/opt/wallpeg
unit=/etc/systemd/system/wallpeg.service
dropin=/etc/systemd/system/wallpeg.service.d/bus.conf
rules=/etc/udev/rules.d/60-wallpeg.rules
modules=/etc/modules-load.d/wallpeg.conf
command=/usr/local/bin/wallpeg
boot=/boot/firmware
settings=/etc/wallpeg.toml
[ -d "$boot" ] && settings=$boot/wallpeg.toml
begin='# wallpeg: the bus of the panel'
end='# wallpeg: end'
bus=
reboot=no
remove=no

say() { printf '%s\n' "$*"; }
fail() { printf 'install.sh: %s\n' "$*" >&2; exit 1; }
booted() { [ -d /run/systemd/system ]; }
system() { if booted; then systemctl "$@"; fi; }

# put FROM TO MODE: copies a file where it differs, and says so.
put() {
    if [ -f "$2" ] && cmp -s "$1" "$2"; then return 1; fi
    mkdir -p "$(dirname -- "$2")"
    install -m "$3" "$1" "$2"
    say "wrote $2"
}

# take PATH: removes it if it is there, and says so.
take() {
    if [ -e "$1" ] || [ -L "$1" ]; then rm -rf -- "$1"; say "removed $1"; fi
}

debian_packages() {
    wanted=libportaudio2
    older=$(python3 -c 'import sys; print(sys.version_info < (3, 13))' 2>/dev/null) || wanted="$wanted python3"
    if [ "$older" = True ] || ! board; then :; else wanted="$wanted python3-lgpio"; fi
    [ -d "$bundle/wheels" ] || wanted="$wanted python3-venv"
    missing=
    for package in $wanted; do
        dpkg -s "$package" >/dev/null 2>&1 || missing="$missing $package"
    done
    [ -n "$missing" ] || return 0
    if ls "$bundle"/debs/*.deb >/dev/null 2>&1; then
        dpkg -i "$bundle"/debs/*.deb
    elif [ -d "$bundle/wheels" ]; then
        fail "the Debian packages$missing are needed and there is no network to fetch them from; on a board of the same system with a network run 'apt-get download$missing' (and what they depend on), put the files into $bundle/debs and run this again"
    else
        apt-get install -y --no-install-recommends $missing
    fi
    say "installed the Debian packages$missing"
}

board() { [ -e /proc/device-tree/model ]; }

# The program in a folder of its own; an interrupted installation leaves the old one as it was.
program() {
    fresh=$home.new
    rm -rf -- "$fresh"
    if [ -d "$bundle/wheels" ]; then
        python3 -m venv --without-pip "$fresh"
        "$fresh/bin/python" "$(ls "$bundle"/wheels/pip-*.whl)/pip" install --quiet --no-index --find-links "$bundle/wheels" \
            --no-deps --require-hashes --only-binary=:all: -r "$here/lock.txt"
    else
        python3 -m venv "$fresh"
        "$fresh/bin/python" -m pip install --quiet --disable-pip-version-check --no-deps --require-hashes --only-binary=:all: -r "$here/lock.txt"
    fi
    packages=$("$fresh/bin/python" -c 'import sysconfig; print(sysconfig.get_path("purelib"))')
    cp -R "$project/dsp" "$project/device" "$project/demo" "$packages/"
    find "$packages" -name __pycache__ -type d -prune -exec rm -rf {} +
    system_lgpio "$packages"
    printf '#!%s/bin/python -I\nimport sys\nfrom device.__main__ import main\nsys.exit(main())\n' "$home" >"$fresh/bin/wallpeg"
    chmod 755 "$fresh/bin/wallpeg"
    "$fresh/bin/python" -m compileall -q "$packages" || true
    rm -rf -- "$home.old"
    if [ -d "$home" ]; then mv "$home" "$home.old"; fi
    mv "$fresh" "$home"
    rm -rf -- "$home.old"
    say "wrote $home"
    if [ "$(readlink "$command" || true)" != "$home/bin/wallpeg" ]; then
        mkdir -p "$(dirname -- "$command")"
        ln -sf "$home/bin/wallpeg" "$command"
        say "wrote $command"
    fi
}

# Where the pin driver has no wheel, the system's own package is used.
system_lgpio() {
    "$home.new/bin/python" -c 'import importlib.util as u, sys; sys.exit(u.find_spec("lgpio") is None)' && return 0
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

groups() {
    for group in audio gpio i2c; do
        getent group "$group" >/dev/null || { groupadd --system "$group"; say "made the group $group"; }
    done
}

# I2C on and at 400 kHz, between two marks in the boot configuration.
boot_configuration() {
    config=$boot/config.txt
    if [ ! -f "$config" ]; then
        say "no $config: turn on I2C yourself, at 400 kHz"
        return 0
    fi
    if grep -qxF "$begin" "$config"; then return 0; fi
    cp "$config" "$config.new"
    printf '\n%s\n[all]\ndtparam=i2c_arm=on\ndtparam=i2c_arm_baudrate=400000\n%s\n' "$begin" "$end" >>"$config.new"
    sync "$config.new"
    mv "$config.new" "$config"
    say "turned on I2C at 400 kHz in $config"
    reboot=yes
}

panel_bus() {
    [ -n "$bus" ] || bus=$(sed -n 's/^[[:space:]]*i2c_bus[[:space:]]*=[[:space:]]*\([0-9][0-9]*\).*/\1/p' "$settings" | head -n 1)
    if [ "${bus:-1}" = 1 ]; then take "${dropin%/*}/bus.conf"; return 0; fi
    draft=$(mktemp)
    printf '%s\n' '# Written by install.sh: the panel sits on another bus.' '[Service]' 'DeviceAllow=' \
        'DeviceAllow=char-alsa rw' 'DeviceAllow=char-gpiochip rw' "DeviceAllow=/dev/i2c-$bus rw" >"$draft"
    put "$draft" "$dropin" 644 || true
    rm -f -- "$draft"
}

uninstall() {
    system disable --now wallpeg.service >/dev/null 2>&1 || true
    booted || rm -f -- /etc/systemd/system/multi-user.target.wants/wallpeg.service
    for path in "$unit" "${dropin%/*}" "$rules" "$modules" "$command" "$home" "$home.new" "$home.old" /var/lib/wallpeg /var/lib/private/wallpeg; do
        take "$path"
    done
    if [ -f "$boot/config.txt" ] && grep -qxF "$begin" "$boot/config.txt"; then
        sed "/^$begin\$/,/^$end\$/d" "$boot/config.txt" >"$boot/config.txt.new"
        mv "$boot/config.txt.new" "$boot/config.txt"
        say "took the bus of the panel out of $boot/config.txt (after the next start)"
    fi
    system daemon-reload
    if [ -f "$settings" ]; then say "left $settings as it is; the groups audio, gpio and i2c stay too"; fi
    say "Wallpeg is gone."
}

while [ $# -gt 0 ]; do
    case $1 in
        --bus) [ $# -gt 1 ] || fail "--bus needs a number, like --bus 3"; bus=$2; shift ;;
        --uninstall) remove=yes ;;
        *) fail "$1 is not known here; --bus N and --uninstall are" ;;
    esac
    shift
done
case $bus in *[!0-9]*) fail "--bus $bus is no number; --bus 3 is one" ;; esac
[ "$(id -u)" = 0 ] || fail "this changes the system: run it with sudo"
if [ "$remove" = yes ]; then uninstall; exit 0; fi

debian_packages
python3 -c 'import sys; sys.exit(sys.version_info < (3, 11))' || fail "Python 3.11 or newer is needed: use Raspberry Pi OS of Debian 12 or 13"
groups
program
if [ ! -f "$settings" ]; then put "$here/wallpeg.toml" "$settings" 644; else say "left $settings as it is"; fi
put "$here/60-wallpeg.rules" "$rules" 644 || true
if put "$here/modules-load.conf" "$modules" 644 && booted; then systemctl restart systemd-modules-load.service || true; fi
boot_configuration
panel_bus
put "$here/wallpeg.service" "$unit" 644 || true
if booted; then
    udevadm control --reload 2>/dev/null || true
    udevadm trigger --subsystem-match=gpio --subsystem-match=i2c-dev 2>/dev/null || true
    systemctl daemon-reload
fi
systemctl enable --quiet wallpeg.service
say "Wallpeg starts whenever the board is switched on."
if [ "$reboot" = yes ]; then
    say "A restart of the board is due: sudo reboot. Then try the parts one by one: sudo wallpeg check"
elif booted; then
    systemctl restart wallpeg.service || say "It did not start: journalctl -u wallpeg says why."
    say "Now try the parts one by one: sudo wallpeg check"
else
    say "Start the board, then try the parts one by one: sudo wallpeg check"
fi
