# shellcheck shell=bash
# Shared by deploy/setup and tests/run. To be sourced by bash after `set -euo pipefail`.

root=$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)
export LC_ALL=C.UTF-8

say() { printf '\n== %s\n' "$*"; }
fail() { printf '%s\n' "$*" >&2; exit 1; }

# packages_for GROUP…: the names from deploy/packages.txt, one a line.
packages_for() {
  local group
  for group in "$@"; do
    awk -v group="$group" '{ sub(/#.*/, "") } $1 == group { for (i = 2; i <= NF; i++) print $i }' "$root/deploy/packages.txt"
  done
}

# Whether what a package is wanted for is here without it: node and npm from elsewhere conflict with Debian's own.
comes_otherwise() {
  case $1 in
    nodejs) command -v node >/dev/null ;;
    npm) command -v npm >/dev/null ;;
    *) false ;;
  esac
}

is_installed() { [ "$(dpkg-query -W -f '${db:Status-Status}' "$1" 2>/dev/null)" = installed ]; }

# install_packages GROUP…: does nothing when all are there. HAKEA_ALLOW_REMOVALS=1 lets apt remove what stands in the way.
install_packages() {
  local wanted missing=() package
  mapfile -t wanted < <(for package in $(packages_for "$@"); do comes_otherwise "$package" || echo "$package"; done)
  command -v dpkg-query >/dev/null || fail "This script installs Debian packages and finds no dpkg here. Install by hand: ${wanted[*]}"
  for package in "${wanted[@]}"; do is_installed "$package" || missing+=("$package"); done
  if [ ${#missing[@]} -eq 0 ]; then
    say "Packages: all ${#wanted[@]} are installed"
    return
  fi
  say "Packages: installing ${missing[*]}"
  [ "$(id -u)" -eq 0 ] || fail "Installing needs root. Run this once as root, or: apt-get install --no-install-recommends ${missing[*]}"

  export DEBIAN_FRONTEND=noninteractive
  local apt=(apt-get -o DPkg::Lock::Timeout=300 -o APT::Install-Recommends=false)
  "${apt[@]}" -q update || echo "apt-get update had errors; going on with the lists at hand" >&2

  # One call with everything: some of these conflict with each other's defaults and are resolved only together.
  local plan removals
  plan=$("${apt[@]}" --simulate -y install "${wanted[@]}") || fail "apt cannot install these together: ${wanted[*]}"
  removals=$(awk '$1 == "Remv" { printf " %s", $2 }' <<<"$plan")
  if [ -n "$removals" ] && [ "${HAKEA_ALLOW_REMOVALS:-}" != 1 ]; then
    fail "Installing would remove:$removals
Nothing was changed. If that is fine, run again with --allow-removals or HAKEA_ALLOW_REMOVALS=1."
  fi
  [ -z "$removals" ] || echo "Removing, as allowed:$removals"
  "${apt[@]}" -q -y install "${wanted[@]}" </dev/null
}

# build_profile PROFILE FOLDER [TARGET…]: configures by .ci/profiles/PROFILE.cmake and builds.
build_profile() {
  local profile=$1 folder=$2
  shift 2
  configure_profile "$profile" "$folder"
  cmake --build "$folder" --parallel "$(nproc)" ${1:+--target "$@"}
}

configure_profile() {
  cmake -C "$root/.ci/profiles/$1.cmake" -S "$root" -B "$2" -G Ninja --log-level=NOTICE
}
