#!/usr/bin/env bash
# Installs what builds and tests need from Debian: the compilers for the microcontroller's image, what unpacks Lua's source
# package (firmware/boards/pico/fetch-lua.sh), a browser for the page, a database server, what reads a PDF back, and what
# checks records from outside.
set -euo pipefail
packages=(gcc libc6-dev gcc-arm-none-eabi libnewlib-arm-none-eabi dpkg-dev chromium postgresql poppler-utils python3 openssl)
apt-get update -qq
DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "${packages[@]}"
