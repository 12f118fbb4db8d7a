#!/bin/sh
# Every night: a dump of the database and a copy of the media; both are tried before old ones go.
# A file that is gone from the media, such as one of a client who was erased, goes here as well once
# the last dump that may name it has gone. Where the media are empty, or more than LOST_PERCENT of
# the copy is gone from them at once, nothing of the copy goes and the office is told: rather a disk
# is not there. If it is meant, say so for one night: touch media-may-go beside the dumps.
set -eu
data=${DATA:-/data} backups=${BACKUPS:-/backups} notes=${NOTES:-/notes} keep=${KEEP_DAYS:-14}
percent=${LOST_PERCENT:-20} few=20
export PGPASSWORD="$(cat /run/secrets/database_password)"

# The copy's files that are no longer among the media, a line each.
lost() {
  (cd "$backups/media" && find . -type f) | while IFS= read -r name; do
    [ -e "$data/media/$name" ] || printf '%s\n' "$name"
  done
}

# Whether so much is lost that nobody can have meant it.
doubted() {
  [ "$gone" -gt 0 ] || return 1
  [ -n "$(find "$data/media" -type f 2>/dev/null | head -n 1)" ] || return 0
  [ "$gone" -gt "$few" ] && [ $((gone * 100)) -gt $((held * percent)) ]
}

while :; do
  day=$(date +%F)
  pg_dump -h db -U backyard -Fc backyard > "$backups/$day.dump.part"
  # a listing is no proof: read the whole dump back
  pg_restore -f /dev/null "$backups/$day.dump.part"
  mv "$backups/$day.dump.part" "$backups/$day.dump"
  mkdir -p "$backups/media" "$backups/gone" "$notes"
  cp -Rn "$data/media/." "$backups/media/" 2>/dev/null || true
  lost > "$backups/lost.part"
  held=$(find "$backups/media" -type f | wc -l) gone=$(wc -l < "$backups/lost.part")
  if doubted && [ ! -e "$backups/media-may-go" ]; then
    echo "$gone of $held files are gone from $data/media: the copy keeps them. If that is meant: touch $backups/media-may-go" >&2
    printf '%d %d\n' "$gone" "$held" > "$notes/refused"
  else
    while IFS= read -r name; do
      mkdir -p "$backups/gone/$(dirname "$name")"
      mv "$backups/media/$name" "$backups/gone/$name"
      touch "$backups/gone/$name"
    done < "$backups/lost.part"
    rm -f "$notes/refused"
  fi
  # the word holds for one night
  rm -f "$backups/lost.part" "$backups/media-may-go"
  find "$backups/gone" -type f -mtime "+$keep" -delete
  find "$backups" -maxdepth 1 -name '*.dump' -mtime "+$keep" -delete
  sleep 86400
done
