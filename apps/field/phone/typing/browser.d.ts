// What browsers have and the compiler's own list lacks.
interface Navigator {
  /** iPhones: opened from the home screen. */
  standalone?: boolean;
}
interface Array<T> {
  findLast(test: (item: T) => unknown): T | undefined;
}
declare class OffscreenCanvas {
  constructor(width: number, height: number);
  width: number;
  height: number;
  getContext(kind: "2d"): CanvasRenderingContext2D;
  convertToBlob(options: { type: string; quality: number }): Promise<Blob>;
}
interface TrustedPolicy {
  createHTML(text: string): string;
  createScriptURL(url: string): string;
}
declare var trustedTypes:
  | {
      createPolicy(
        name: string,
        rules: { createHTML?: (text: string) => string; createScriptURL?: (url: string) => string },
      ): TrustedPolicy;
    }
  | undefined;
