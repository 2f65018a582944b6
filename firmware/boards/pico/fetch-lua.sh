#!/usr/bin/env bash
# Unpacks the source of Debian's Lua 5.4, with Debian's patches applied, to FOLDER/source. Where it comes from is what this
# machine's own package sources say: they are read anew as sources of source packages, in FOLDER, nothing of the system is
# changed. apt checks the signatures down to the checksum of each file; the .dsc's checksums are checked once more here.
set -euo pipefail
folder=$(mkdir -p "$1" && cd "$1" && pwd)
cd "$folder"
rm -rf parts lists lua5.4* source
mkdir -p parts lists/partial
: > parts/one-line.list
for file in /etc/apt/sources.list /etc/apt/sources.list.d/*.list; do
  if [ -f "$file" ]; then sed -n 's/^deb /deb-src /p' "$file" >> parts/one-line.list; fi
done
for file in /etc/apt/sources.list.d/*.sources; do
  if [ -f "$file" ]; then sed 's/^Types:.*/Types: deb-src/' "$file" > "parts/$(basename "$file")"; fi
done
apt=(apt-get -qq -o Dir::Etc::sourcelist=/dev/null -o "Dir::Etc::sourceparts=$folder/parts"
  -o "Dir::State::lists=$folder/lists" -o APT::Sandbox::User=root)
"${apt[@]}" update
"${apt[@]}" source --download-only lua5.4
sed -n '/^Checksums-Sha256:/,/^[^ ]/s/^ \([0-9a-f]\{64\}\) [0-9]* \(.*\)/\1  \2/p' lua5.4_*.dsc | sha256sum --check --quiet --strict
dpkg-source --extract lua5.4_*.dsc source > unpacked.txt
# Debian's build writes this header; it only names folders of a system that the board does not have.
echo '#define DEB_HOST_MULTIARCH ""' > source/src/lua5.4-deb-multiarch.h
rm -rf parts lists
