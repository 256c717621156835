#!/usr/bin/env bash
# Bundles source/ and the three.js it draws with into viewer.min.js. Run it where Node.js is:
#   npm install --no-save three@0.187 esbuild@0.28 && studies/viewer/build.sh
set -euo pipefail
cd "$(dirname "$0")"
modules=${1:-../../node_modules}
sources=$(cat source/*.js | sha256sum | cut -c 1-16)
version=$(node -p "require('$(realpath "$modules")/three/package.json').version")
NODE_PATH=$(realpath "$modules") "$modules/.bin/esbuild" source/viewer.js --bundle --minify \
    --format=iife --global-name=GussetryViewer --legal-comments=inline --target=es2022 \
    --banner:js="/* sources $sources. Holds three.js $version, under this licence:
$(cat "$modules/three/LICENSE")
*/" \
    --outfile=viewer.min.js
