#!/usr/bin/env bash
# Installs what tests need from Debian. Nothing so far: every test of this version runs with what npm brings.
set -euo pipefail
packages=()
if [ ${#packages[@]} -gt 0 ]; then
  apt-get update -qq
  DEBIAN_FRONTEND=noninteractive apt-get install -y -qq "${packages[@]}"
fi
