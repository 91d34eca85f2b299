#!/usr/bin/env bash
# Fetch lighthouse into a folder of its own, then look at board and wizard. Needs node and Chromium.
set -euo pipefail
cd "$(dirname "$0")/.."
tools=${TMPDIR:-/tmp}/tallyfret-lighthouse
[ -d "$tools/node_modules/lighthouse" ] || PUPPETEER_SKIP_DOWNLOAD=1 npm install --silent --prefix "$tools" lighthouse@12.2.3
exec .venv/bin/python bench/lighthouse.py "$tools/node_modules/lighthouse/cli/index.js"
