#!/usr/bin/env bash
# Makes a record of one invented knife through five stages from record-demo/, and its page.
#
#   sample-images/record_demo.sh [FOLDER]     FOLDER (record-demo) must not be there yet
set -euo pipefail
readonly samples=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
readonly root=$(dirname "$samples")
readonly program=${EVENBEVEL:-$root/build/release/evenbevel}
readonly folder=${1:-record-demo}
readonly record=$folder/record.sqlite

if [ -e "$folder" ]; then
  echo "record_demo.sh: $folder is there already; give another folder" >&2
  exit 2
fi
mkdir -p "$folder"

add() {  # photo, the knife's stage, what the photo shows
  # 1: measured, but not resolved.
  "$program" edge "$samples/record-demo/$1.jpg" --thickness 3.2mm --shows "$3" --tip right \
    --camera-file "$root/calibration/sample-usb.yml" -o "$folder/reports/$1" \
    --knife heron --at-stage "$2" --record "$record" || [ $? = 1 ]
}

add 1-scribed scribed scribed
add 2-ground "edge ground" ground
add 3-grit60 "60 grit" bevelled
add 4-grit120 "120 grit" bevelled
add 5-grit400 "400 grit" bevelled
"$program" record note heron "The blade for the demonstration: 3.2 mm stock." --record "$record"
"$program" record list --record "$record"
"$program" record compare heron --from "60 grit" --to "400 grit" --record "$record"
"$program" record page heron -o "$folder/heron.html" --record "$record"
