#!/usr/bin/env bash
# Makes one picture of all kept sections, to be looked at: pictures.sh OUT.png
# Needs imagemagick and the program resvg (pip install resvg). After a change run
# UPDATE_GOLDEN=1 cargo test -p keepside --lib section first.
set -euo pipefail
out=$(realpath -m "${1:?where to write the picture}")
cd "$(dirname "$0")/section"
font=$(realpath ../../../../../assets/fonts/DejaVuSansCondensed.ttf)
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
sheet=()
for file in *.svg; do
    picture=$folder/${file%.svg}.png
    resvg --use-font-file "$font" --serif-family "DejaVu Sans" --font-family "DejaVu Sans" -w 440 "$file" "$picture"
    sheet+=(-label "${file%.svg}" "$picture")
done
montage "${sheet[@]}" -font "$font" -tile 4x -geometry 440x330+6+6 "$out"
