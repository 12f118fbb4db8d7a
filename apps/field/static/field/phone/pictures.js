// A photo made small enough for a weak signal, its place and camera left out.
const LONGEST = 1600;
const QUALITY = 0.75;
const THUMB = 240;
const AS_IT_IS = 15_000_000;

/** @param {ImageBitmap} bitmap @param {number} longest pixels @param {number} quality */
const drawn = async (bitmap, longest, quality) => {
  const scale = Math.min(1, longest / Math.max(bitmap.width, bitmap.height));
  const canvas = new OffscreenCanvas(Math.round(bitmap.width * scale), Math.round(bitmap.height * scale));
  canvas.getContext("2d").drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  const blob = await canvas.convertToBlob({ type: "image/jpeg", quality });
  return blob.arrayBuffer();
};

/** @param {ArrayBuffer} buffer */
const digest = async (buffer) =>
  [...new Uint8Array(await crypto.subtle.digest("SHA-256", buffer))]
    .map((byte) => byte.toString(16).padStart(2, "0"))
    .join("");

/**
 * Bytes stay in buffers, since some browsers lose blobs. What cannot be decoded here is kept as it
 * is and left to the server.
 * @param {File} file
 */
export const smaller = async (file) => {
  /** @type {ArrayBuffer | null} */
  let thumb = null;
  let buffer, type = "image/jpeg";
  try {
    const bitmap = await createImageBitmap(file, /** @type {ImageBitmapOptions} */ (/** @type {unknown} */ ({ imageOrientation: "from-image" })));
    buffer = await drawn(bitmap, LONGEST, QUALITY);
    thumb = await drawn(bitmap, THUMB, 0.7);
    bitmap.close();
  } catch {
    if (file.size > AS_IT_IS) throw new Error("too large");
    buffer = await file.arrayBuffer();
    type = file.type;
  }
  return { buffer, thumb, type, size: buffer.byteLength, sha256: await digest(buffer) };
};
