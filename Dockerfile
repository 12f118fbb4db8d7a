FROM python:3.11-slim-bookworm
WORKDIR /app
COPY packaging/apt-runtime.txt packaging/
RUN apt-get update \
 && xargs apt-get install -y --no-install-recommends < packaging/apt-runtime.txt \
 && rm -rf /var/lib/apt/lists/*
COPY requirements/runtime.txt requirements/
RUN pip install --no-cache-dir --require-hashes -r requirements/runtime.txt
COPY . .
ENV BACKYARD_DIR=/data PYTHONUNBUFFERED=1
# static files go into the image, so that the running container can be read-only
RUN BACKYARD_DIR=/app/built DJANGO_SETTINGS_MODULE=backyard.settings.dev sh -c "python manage.py compilemessages -v0 && python manage.py collectstatic --no-input -v0" \
 && useradd --system backyard && mkdir /data && chown backyard /data && rm -f /app/built/secret_key
USER backyard
