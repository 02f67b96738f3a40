/**
 * Paints the proof on the graphics chip: the picture's working RGB through a table of display values, by tetrahedra,
 * as the server does it. Worth it only on a real chip; a software renderer is slower than the server.
 */

export interface Pixels {
  width: number;
  height: number;
  /** Working RGB, 0-65535, rows from the top. */
  rgb: Uint16Array;
}

export interface Nodes {
  size: number;
  /** Display values 0-1 as half floats, red running fastest. */
  halves: Uint16Array;
}

const CORNERS = `#version 300 es
void main() { gl_Position = vec4(gl_VertexID == 1 ? 3. : -1., gl_VertexID == 2 ? 3. : -1., 0., 1.); }`;

const TETRAHEDRA = `#version 300 es
precision highp float;
precision highp int;
precision highp usampler2D;
precision highp sampler3D;
uniform usampler2D picture;
uniform sampler3D nodes;
out vec4 shown;
vec3 node(ivec3 at) { return texelFetch(nodes, at, 0).rgb; }
void main() {
  ivec2 size = textureSize(picture, 0);
  ivec2 at = ivec2(int(gl_FragCoord.x), size.y - 1 - int(gl_FragCoord.y));
  int last = textureSize(nodes, 0).x - 1;
  vec3 place = vec3(texelFetch(picture, at, 0).rgb) / 65535. * float(last);
  ivec3 low = min(ivec3(place), last - 1);
  vec3 part = place - vec3(low);
  // from the low corner to the high one along the edges of the largest part, then the middle one
  ivec3 first, second;
  float most, middle, least;
  if (part.r >= part.g) {
    if (part.g >= part.b) { first = ivec3(1, 0, 0); second = ivec3(1, 1, 0); most = part.r; middle = part.g; least = part.b; }
    else if (part.r >= part.b) { first = ivec3(1, 0, 0); second = ivec3(1, 0, 1); most = part.r; middle = part.b; least = part.g; }
    else { first = ivec3(0, 0, 1); second = ivec3(1, 0, 1); most = part.b; middle = part.r; least = part.g; }
  } else {
    if (part.b >= part.g) { first = ivec3(0, 0, 1); second = ivec3(0, 1, 1); most = part.b; middle = part.g; least = part.r; }
    else if (part.b >= part.r) { first = ivec3(0, 1, 0); second = ivec3(0, 1, 1); most = part.g; middle = part.b; least = part.r; }
    else { first = ivec3(0, 1, 0); second = ivec3(1, 1, 0); most = part.g; middle = part.r; least = part.b; }
  }
  vec3 rgb = (1. - most) * node(low) + (most - middle) * node(low + first)
    + (middle - least) * node(low + second) + least * node(low + 1);
  shown = vec4(clamp(rgb, 0., 1.), 1.);
}`;

const SOFTWARE = /swiftshader|llvmpipe|softpipe|software|basic render/i;
/** A repaint of this many pixels must take no longer than this, or the server paints. */
const TRIAL = [1280, 800] as const;
const LONGEST_MS = 25;
const KEPT = "wallworthy.painter";

export class Painter {
  readonly #gl: WebGL2RenderingContext;
  #picture: WebGLTexture | null = null;
  #nodes: WebGLTexture | null = null;

  private constructor(gl: WebGL2RenderingContext) {
    this.#gl = gl;
  }

  /** A painter on a canvas; null where the browser has no WebGL 2. */
  static on(canvas: HTMLCanvasElement, space: PredefinedColorSpace): Painter | null {
    const gl = canvas.getContext("webgl2", { alpha: false, antialias: false, preserveDrawingBuffer: true });
    if (!gl) return null;
    gl.drawingBufferColorSpace = space;
    const program = gl.createProgram();
    for (const [kind, source] of [
      [gl.VERTEX_SHADER, CORNERS],
      [gl.FRAGMENT_SHADER, TETRAHEDRA],
    ] as const) {
      const shader = gl.createShader(kind);
      if (!shader) return null;
      gl.shaderSource(shader, source);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
    }
    gl.linkProgram(program);
    if (!gl.getProgramParameter(program, gl.LINK_STATUS)) return null;
    gl.useProgram(program);
    gl.uniform1i(gl.getUniformLocation(program, "picture"), 0);
    gl.uniform1i(gl.getUniformLocation(program, "nodes"), 1);
    gl.pixelStorei(gl.UNPACK_ALIGNMENT, 1);
    return new Painter(gl);
  }

  lay(pixels: Pixels): void {
    const gl = this.#gl;
    const canvas = gl.canvas as HTMLCanvasElement;
    canvas.width = pixels.width;
    canvas.height = pixels.height;
    gl.deleteTexture(this.#picture);
    this.#picture = this.#texture(gl.TEXTURE0, gl.TEXTURE_2D);
    const { width, height, rgb } = pixels;
    gl.texImage2D(gl.TEXTURE_2D, 0, gl.RGB16UI, width, height, 0, gl.RGB_INTEGER, gl.UNSIGNED_SHORT, rgb);
  }

  through({ size, halves }: Nodes): void {
    const gl = this.#gl;
    gl.deleteTexture(this.#nodes);
    this.#nodes = this.#texture(gl.TEXTURE1, gl.TEXTURE_3D);
    gl.texImage3D(gl.TEXTURE_3D, 0, gl.RGB16F, size, size, size, 0, gl.RGB, gl.HALF_FLOAT, halves);
  }

  paint(): void {
    const gl = this.#gl;
    if (!this.#picture || !this.#nodes) return;
    gl.viewport(0, 0, gl.drawingBufferWidth, gl.drawingBufferHeight);
    gl.drawArrays(gl.TRIANGLES, 0, 3);
  }

  /** Waits for the chip: the time of a repaint without this is only that of asking for it. */
  finish(): void {
    this.#gl.readPixels(0, 0, 1, 1, this.#gl.RGBA, this.#gl.UNSIGNED_BYTE, new Uint8Array(4));
  }

  renderer(): string {
    const gl = this.#gl;
    const named = gl.getExtension("WEBGL_debug_renderer_info");
    return String(gl.getParameter(named ? named.UNMASKED_RENDERER_WEBGL : gl.RENDERER));
  }

  leave(): void {
    this.#gl.getExtension("WEBGL_lose_context")?.loseContext();
  }

  #texture(unit: number, target: number): WebGLTexture | null {
    const gl = this.#gl;
    const texture = gl.createTexture();
    gl.activeTexture(unit);
    gl.bindTexture(target, texture);
    for (const side of [gl.TEXTURE_MIN_FILTER, gl.TEXTURE_MAG_FILTER])
      gl.texParameteri(target, side, gl.NEAREST);
    return texture;
  }
}

function measured(): boolean {
  const painter = Painter.on(document.createElement("canvas"), "srgb");
  if (!painter) return false;
  try {
    if (SOFTWARE.test(painter.renderer())) return false;
    const [width, height] = TRIAL;
    painter.lay({ width, height, rgb: new Uint16Array(width * height * 3) });
    painter.through({ size: 33, halves: new Uint16Array(33 ** 3 * 3) });
    painter.paint();
    painter.finish();
    const before = performance.now();
    painter.paint();
    painter.finish();
    return performance.now() - before < LONGEST_MS;
  } finally {
    painter.leave();
  }
}

/** Whether this browser's own chip paints faster than the server; tried once in a session. */
export function paintsItself(): boolean {
  const kept = sessionStorage.getItem(KEPT);
  if (kept) return kept === "yes";
  const itself = measured();
  sessionStorage.setItem(KEPT, itself ? "yes" : "no");
  return itself;
}
