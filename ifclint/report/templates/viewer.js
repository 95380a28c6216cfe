"use strict";
// The pipe of the building in three dimensions: instanced cylinders, turned by pointer or keys.
(() => {
  const section = document.getElementById("space");
  const canvas = section?.querySelector("canvas");
  const gl = canvas?.getContext("webgl2", { antialias: true });
  if (!gl) return;
  section.hidden = false;
  const data = JSON.parse(document.getElementById("pipes").textContent);
  const SIDES = 8, count = data.pipes.length / 7;
  const style = getComputedStyle(document.documentElement);
  const colour = (name) => {
    const hex = style.getPropertyValue(name).trim().replace("#", "");
    const full = hex.length === 3 ? [...hex].map((c) => c + c).join("") : hex;
    return [0, 2, 4].map((at) => parseInt(full.slice(at, at + 2), 16) / 255);
  };
  const colours = data.services.map((name) => colour(name));
  const marked = colour("--violation"), paper = colour("--sheet");

  const shader = (kind, source) => {
    const made = gl.createShader(kind);
    gl.shaderSource(made, source);
    gl.compileShader(made);
    return made;
  };
  const program = gl.createProgram();
  gl.attachShader(program, shader(gl.VERTEX_SHADER, `#version 300 es
    in vec3 corner; in vec3 a; in vec3 b; in float radius; in vec4 tint;
    uniform mat4 view; uniform float thin; out vec3 shade;
    void main() {
      vec3 along = normalize(b - a + vec3(0.0, 0.0, 1e-6));
      vec3 side = normalize(cross(along, abs(along.z) < 0.9 ? vec3(0, 0, 1) : vec3(1, 0, 0)));
      vec3 out_ = side * corner.x + cross(along, side) * corner.y;
      float r = max(radius, thin) * (1.0 + tint.a);
      gl_Position = view * vec4(mix(a - along * r * 0.5, b + along * r * 0.5, corner.z) + out_ * r, 1.0);
      shade = tint.rgb * (0.72 + 0.28 * dot(out_, normalize(vec3(-0.4, -0.5, 0.77))));
    }`));
  gl.attachShader(program, shader(gl.FRAGMENT_SHADER, `#version 300 es
    precision mediump float; in vec3 shade; out vec4 colour;
    void main() { colour = vec4(shade, 1.0); }`));
  gl.linkProgram(program);
  gl.useProgram(program);

  const buffer = (name, values, size, each) => {
    const at = gl.getAttribLocation(program, name), made = gl.createBuffer();
    gl.bindBuffer(gl.ARRAY_BUFFER, made);
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.DYNAMIC_DRAW);
    gl.enableVertexAttribArray(at);
    gl.vertexAttribPointer(at, size, gl.FLOAT, false, 0, 0);
    gl.vertexAttribDivisor(at, each);
    return made;
  };
  const corners = [];
  for (let n = 0; n <= SIDES; n += 1) {
    const turn = (n / SIDES) * 2 * Math.PI;
    for (const end of [0, 1]) corners.push(Math.cos(turn), Math.sin(turn), end);
  }
  buffer("corner", new Float32Array(corners), 3, 0);
  const pick = (from, size) => {
    const made = new Float32Array(count * size);
    for (let n = 0; n < count; n += 1) for (let k = 0; k < size; k += 1) made[n * size + k] = data.pipes[n * 7 + from + k];
    return made;
  };
  const starts = pick(0, 3), ends = pick(3, 3);
  buffer("a", starts, 3, 1);
  buffer("b", ends, 3, 1);
  buffer("radius", pick(6, 1), 1, 1);
  const tints = new Float32Array(count * 4);
  const tint = buffer("tint", tints, 4, 1);

  const bounds = (chosen) => {
    const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
    for (const n of chosen) for (const points of [starts, ends]) for (let k = 0; k < 3; k += 1) {
      low[k] = Math.min(low[k], points[n * 3 + k]);
      high[k] = Math.max(high[k], points[n * 3 + k]);
    }
    return [low, high];
  };
  const all = [...Array(count).keys()];
  const eye = { yaw: -0.7, pitch: 0.5, away: 10, at: [0, 0, 0] };
  const look = (chosen, least) => {
    const [low, high] = bounds(chosen);
    eye.at = low.map((c, k) => (c + high[k]) / 2);
    eye.away = Math.max(least, Math.hypot(...low.map((c, k) => high[k] - c)) * 1.1);
  };

  const view = () => {
    const { yaw, pitch, away, at } = eye;
    const [cy, sy, cp, sp] = [Math.cos(yaw), Math.sin(yaw), Math.cos(pitch), Math.sin(pitch)];
    const right = [cy, sy, 0], up = [-sy * -sp * -1, cy * -sp * -1, cp], back = [sy * cp, -cy * cp, sp];
    const from = at.map((c, k) => c + back[k] * away);
    const f = 1.6, wide = canvas.width / canvas.height, near = away / 100, far = away * 20;
    const p = (far + near) / (near - far), q = (2 * far * near) / (near - far);
    const dot = (u) => -(u[0] * from[0] + u[1] * from[1] + u[2] * from[2]);
    const row = (k) => [(f / wide) * right[k], f * up[k], p * back[k], -back[k]];
    return [...row(0), ...row(1), ...row(2), (f / wide) * dot(right), f * dot(up), p * dot(back) + q, -dot(back)];
  };

  let waiting = false;
  const draw = () => {
    waiting = false;
    const scale = window.devicePixelRatio || 1;
    canvas.width = canvas.clientWidth * scale;
    canvas.height = canvas.clientHeight * scale;
    gl.viewport(0, 0, canvas.width, canvas.height);
    gl.clearColor(...paper, 1);
    gl.enable(gl.DEPTH_TEST);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.uniformMatrix4fv(gl.getUniformLocation(program, "view"), false, new Float32Array(view()));
    gl.uniform1f(gl.getUniformLocation(program, "thin"), eye.away / 400);
    gl.drawArraysInstanced(gl.TRIANGLE_STRIP, 0, 2 * (SIDES + 1), count);
  };
  const redraw = () => {
    if (!waiting) requestAnimationFrame(draw);
    waiting = true;
  };

  const show = (number) => {
    const chosen = data.corrections[number] ?? [];
    for (let n = 0; n < count; n += 1) tints.set([...colours[data.service[n]], 0], n * 4);
    for (const n of chosen) tints.set([...marked, 1], n * 4);
    gl.bindBuffer(gl.ARRAY_BUFFER, tint);
    gl.bufferSubData(gl.ARRAY_BUFFER, 0, tints);
    look(chosen.length ? chosen : all, 4);
    section.querySelector("output").textContent = chosen.length ? `Correction ${number} is marked.` : "";
    redraw();
  };

  const turn = (yaw, pitch) => {
    eye.yaw += yaw;
    eye.pitch = Math.max(-1.5, Math.min(1.5, eye.pitch + pitch));
    redraw();
  };
  const zoom = (by) => {
    eye.away *= by;
    redraw();
  };
  const KEYS = {
    ArrowLeft: () => turn(-0.1, 0), ArrowRight: () => turn(0.1, 0), ArrowUp: () => turn(0, 0.1),
    ArrowDown: () => turn(0, -0.1), "+": () => zoom(0.9), "-": () => zoom(1.1), Home: () => show(0),
  };
  canvas.addEventListener("keydown", (event) => {
    if (!KEYS[event.key]) return;
    event.preventDefault();
    KEYS[event.key]();
  });
  canvas.addEventListener("pointermove", (event) => {
    if (event.buttons) turn(event.movementX * -0.008, event.movementY * 0.008);
  });
  canvas.addEventListener("pointerdown", (event) => canvas.setPointerCapture(event.pointerId));
  canvas.addEventListener("wheel", (event) => {
    event.preventDefault();
    zoom(event.deltaY > 0 ? 1.1 : 0.9);
  }, { passive: false });
  for (const button of document.querySelectorAll("button.in-space")) {
    button.hidden = !data.corrections[button.value];
    button.addEventListener("click", () => {
      show(Number(button.value));
      section.scrollIntoView();
      canvas.focus();
    });
  }
  new ResizeObserver(redraw).observe(canvas);
  show(0);
})();
