#!/bin/sh
# Makes the two trimmed faces again: needs Debian's fonts-dejavu-extra 2.37-6 and fontTools from PyPI.
set -eu
cd "$(dirname "$0")"
for face in DejaVuSansCondensed DejaVuSansCondensed-Bold; do
    pyftsubset "/usr/share/fonts/truetype/dejavu/$face.ttf" --output-file="$face.ttf" \
        --no-hinting --layout-features= --name-IDs='*' --notdef-outline --no-glyph-names --drop-tables+=GSUB,GPOS,GDEF,kern \
        --unicodes=U+0020-007E,U+00A0-024F,U+02BC,U+02C6-02DD,U+0300-0304,U+0307-030C,U+0327-0328,U+0370-03FF,U+0400-052F,U+1E00-1EFF,U+2000-206F,U+2070-209F,U+20A0-20BF,U+2100-214F,U+2150-218F,U+2190-21FF,U+2200-22FF,U+2300-230F,U+2460-2473,U+25A0-25FF,U+2600-26FF,U+2700-27BF,U+FFFD
done
