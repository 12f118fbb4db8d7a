#!/bin/sh
# Every night: a dump of the database and a copy of the media; both are tried before old ones go.
# A file that is gone from the media, such as one of a client who was erased, goes here as well once
# the last dump that may name it has gone.
set -eu
data=${DATA:-/data} backups=${BACKUPS:-/backups} keep=${KEEP_DAYS:-14}
export PGPASSWORD="$(cat /run/secrets/database_password)"
while :; do
  day=$(date +%F)
  pg_dump -h db -U backyard -Fc backyard > "$backups/$day.dump.part"
  # a listing is no proof: read the whole dump back
  pg_restore -f /dev/null "$backups/$day.dump.part"
  mv "$backups/$day.dump.part" "$backups/$day.dump"
  mkdir -p "$backups/media" "$backups/gone"
  cp -Rn "$data/media/." "$backups/media/" 2>/dev/null || true
  if [ -d "$data/media" ]; then
    (cd "$backups/media" && find . -type f) | while IFS= read -r name; do
      if [ ! -e "$data/media/$name" ]; then
        mkdir -p "$backups/gone/$(dirname "$name")"
        mv "$backups/media/$name" "$backups/gone/$name"
        touch "$backups/gone/$name"
      fi
    done
  fi
  find "$backups/gone" -type f -mtime "+$keep" -delete
  find "$backups" -maxdepth 1 -name '*.dump' -mtime "+$keep" -delete
  sleep 86400
done
