// Plays the flights of a stage: `sixdofPlayer(root, data)` draws what `packed.py` wrote.
//
// Needs nothing but a browser with WebGL 2; where that is missing it returns null and leaves the page as it is.
// Matrices are sixteen numbers, row by row; axes of the scene: x east, y north, z up [m]; angles [rad].
"use strict";

const sixdofPlayer = (() => {
  // ---------------------------------------------------------------- numbers out of text

  const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
  const floats = (text) => new Float32Array(bytes(text).buffer);
  const rgb = (color) => [1, 3, 5].map((i) => parseInt(color.slice(i, i + 2), 16) / 255);

  // ---------------------------------------------------------------- vectors and matrices

  const minus = (a, b) => a.map((x, i) => x - b[i]);
  const plus = (a, b) => a.map((x, i) => x + b[i]);
  const dot = (a, b) => a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
  const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
  const unit = (a) => a.map((x) => x / Math.hypot(...a));

  const product = (a, b) => {
    const out = new Array(16).fill(0);
    for (let i = 0; i < 4; i++)
      for (let j = 0; j < 4; j++)
        for (let k = 0; k < 4; k++) out[4 * i + j] += a[4 * i + k] * b[4 * k + j];
    return out;
  };

  const times = (m, p) => [0, 1, 2, 3].map((i) => m[4 * i] * p[0] + m[4 * i + 1] * p[1] + m[4 * i + 2] * p[2] + m[4 * i + 3]);

  // Turns a part about its hinge by an angle, right-handed about the axis (Rodrigues' formula).
  const turned = (part, angle) => {
    const [x, y, z] = part.axis, s = Math.sin(angle), c = 1 - Math.cos(angle);
    const r = [
      1 - c * (y * y + z * z), c * x * y - s * z, c * x * z + s * y,
      c * x * y + s * z, 1 - c * (x * x + z * z), c * y * z - s * x,
      c * x * z - s * y, c * y * z + s * x, 1 - c * (x * x + y * y),
    ];
    const h = part.hinge;
    const shift = [0, 1, 2].map((i) => h[i] - r[3 * i] * h[0] - r[3 * i + 1] * h[1] - r[3 * i + 2] * h[2]);
    return [r[0], r[1], r[2], shift[0], r[3], r[4], r[5], shift[1], r[6], r[7], r[8], shift[2], 0, 0, 0, 1];
  };

  // Body axes to scene axes: attitude quaternion (body to north-east-down), drawn larger about the CG.
  const body = (row, scale) => {
    const { q0, q1, q2, q3 } = row, k = scale;
    const north = [1 - 2 * (q2 * q2 + q3 * q3), 2 * (q1 * q2 - q0 * q3), 2 * (q1 * q3 + q0 * q2)];
    const east = [2 * (q1 * q2 + q0 * q3), 1 - 2 * (q1 * q1 + q3 * q3), 2 * (q2 * q3 - q0 * q1)];
    const down = [2 * (q1 * q3 - q0 * q2), 2 * (q2 * q3 + q0 * q1), 1 - 2 * (q1 * q1 + q2 * q2)];
    return [
      ...east.map((v) => k * v), row.east, ...north.map((v) => k * v), row.north, ...down.map((v) => -k * v), -row.down,
      0, 0, 0, 1,
    ];
  };

  // Scene axes to the picture, each from -1 to 1.
  const NEAR = 0.05, FAR = 20, SHAPE = 16 / 9;
  const seenBy = (camera, shape) => {
    const way = minus(camera.at, camera.eye), distance = Math.hypot(...way);
    const ahead = unit(way), across = unit(cross(ahead, camera.up)), up = cross(across, ahead);
    const look = [
      ...across, -dot(across, camera.eye), ...up, -dot(up, camera.eye), ...ahead.map((x) => -x), dot(ahead, camera.eye),
      0, 0, 0, 1,
    ];
    const near = NEAR * distance, far = FAR * distance, wide = Math.max(1, SHAPE / shape); // keep the width of 16:9
    if (camera.tall) {
      const tall = camera.tall * wide;
      return product([1 / (tall * shape), 0, 0, 0, 0, 1 / tall, 0, 0, 0, 0, -2 / (far - near), -(far + near) / (far - near), 0, 0, 0, 1], look);
    }
    const zoom = 1 / (Math.tan((camera.angle * Math.PI) / 360) * wide);
    return product([zoom / shape, 0, 0, 0, 0, zoom, 0, 0, 0, 0, -(far + near) / (far - near), (-2 * far * near) / (far - near), 0, 0, -1, 0], look);
  };

  const following = (camera, point) => {
    if (camera.follows === "turns") return { ...camera, at: point };
    if (camera.follows === "travels") return { ...camera, eye: plus(camera.eye, minus(point, camera.at)), at: point };
    return camera;
  };

  // ---------------------------------------------------------------- tracks

  // The row of a flight at a time, between two rows in proportion; the ends hold beyond them.
  const rowAt = (flight, columns, time) => {
    const n = columns.length, rows = flight.rows, count = rows.length / n;
    let low = 0, high = count - 1;
    while (high - low > 1) {
      const middle = (low + high) >> 1;
      if (rows[middle * n] <= time) low = middle; else high = middle;
    }
    const a = rows[low * n], b = rows[high * n], share = Math.min(Math.max((time - a) / (b - a), 0), 1);
    const row = {}, phase = columns.indexOf("phase");
    const parted = rows[low * n + phase] !== rows[high * n + phase];
    columns.forEach((name, i) => {
      const x = rows[low * n + i], y = rows[high * n + i], held = parted && COUNTED.has(name);
      row[name] = held ? (share >= 1 ? y : x) : (1 - share) * x + share * y;
    });
    const size = Math.hypot(row.q0, row.q1, row.q2, row.q3);
    for (const q of ["q0", "q1", "q2", "q3"]) row[q] /= size;
    return Object.assign(row, { number: low });
  };
  const COUNTED = new Set(["toward_canopy", "toward_wing", "roll", "sideslip", "phase", "measured"]);

  const said = (readout, row, notCounted) => {
    if (readout.counted && row.measured < 0) return notCounted;
    const number = readout.factor * row[readout.column];
    if (!readout.positive) return number.toFixed(readout.digits) + readout.unit;
    const size = Math.abs(number).toFixed(readout.digits);
    return size + readout.unit + (Number(size) ? " " + (number > 0 ? readout.positive : readout.negative) : "");
  };

  // ---------------------------------------------------------------- drawing

  // Where there is no graphics chip every call and every pixel of the ground counts: an airplane is one call, whose
  // corners know their part; the ground has no light; stretches are plain triangles, for copies would be a call each.
  const SOLID = (parts) => [`#version 300 es
    layout(location = 0) in vec3 point; layout(location = 1) in vec3 paint; layout(location = 2) in float part;
    uniform mat4 place[${parts}], view; out vec3 color, world;
    void main() { vec4 p = place[int(part)] * vec4(point, 1.0); world = p.xyz; color = paint; gl_Position = view * p; }`,
  `#version 300 es
    precision highp float; in vec3 color, world; out vec4 pixel;
    void main() {
      vec3 face = normalize(cross(dFdx(world), dFdy(world)));
      float light = 0.55 + 0.3 * abs(dot(face, vec3(0.62, -0.34, 0.70))) + 0.18 * abs(face.z);
      pixel = vec4(color * light, 1.0);
    }`];

  const EVEN = `#version 300 es
    precision highp float; uniform vec4 color; out vec4 pixel;
    void main() { pixel = vec4(color.rgb * color.a, color.a); }`;

  const FLAT = [`#version 300 es
    layout(location = 0) in vec3 point; uniform mat4 view;
    void main() { gl_Position = view * vec4(point, 1.0); }`, EVEN];

  // A stretch is drawn as a quad as wide as its radius seems to be there, and no narrower than a hair; its corners: 0 and 1
  // at its begin, 2 and 3 at its end.
  const LINE = [`#version 300 es
    layout(location = 0) in vec3 a; layout(location = 1) in vec3 b; layout(location = 2) in float corner;
    uniform mat4 view; uniform vec2 size; uniform float radius, zoom, hair, near, cap;
    void main() {
      vec4 p = view * vec4(a, 1.0), q = view * vec4(b, 1.0);
      if (p.w < near && q.w < near) { gl_Position = vec4(2.0, 2.0, 2.0, 1.0); return; }
      if (p.w < near) p = mix(q, p, (q.w - near) / (q.w - p.w));
      if (q.w < near) q = mix(p, q, (p.w - near) / (p.w - q.w));
      vec2 along = (q.xy / q.w - p.xy / p.w) * size;
      along = length(along) > 0.0 ? normalize(along) : vec2(1.0, 0.0);
      vec4 end = corner > 1.5 ? q : p;
      float half_width = max(hair, radius * zoom * 0.5 * size.y / end.w);
      float side = mod(corner, 2.0) > 0.5 ? 1.0 : -1.0, out_ = corner > 1.5 ? cap : -cap;
      vec2 offset = (vec2(-along.y, along.x) * side + along * out_) * half_width * 2.0 / size;
      gl_Position = end + vec4(offset * end.w, 0.0, 0.0);
    }`, EVEN];
  const CORNERS = [0, 1, 2, 2, 1, 3];

  const compiled = (gl, sources) => {
    const program = gl.createProgram();
    [gl.VERTEX_SHADER, gl.FRAGMENT_SHADER].forEach((kind, i) => {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, sources[i]);
      gl.compileShader(shader);
      if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader));
      gl.attachShader(program, shader);
    });
    gl.linkProgram(program);
    const at = { program };
    for (let i = gl.getProgramParameter(program, gl.ACTIVE_UNIFORMS) - 1; i >= 0; i--) {
      const { name } = gl.getActiveUniform(program, i);
      at[name.replace("[0]", "")] = gl.getUniformLocation(program, name);
    }
    return at;
  };

  // Corners of triangles, seven numbers each: three, three and one, as the programs take them.
  const corners = (gl, values) => {
    const made = { array: gl.createVertexArray(), buffer: gl.createBuffer() };
    gl.bindVertexArray(made.array);
    gl.bindBuffer(gl.ARRAY_BUFFER, made.buffer);
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
    [[3, 0], [3, 12], [1, 24]].forEach(([count, first], place) => {
      gl.enableVertexAttribArray(place);
      gl.vertexAttribPointer(place, count, gl.FLOAT, false, 28, first);
    });
    return made;
  };

  // Meshes as loose triangles in one buffer, each corner with the color of its face and the number of its mesh.
  const meshBuffer = (gl, meshes, paints) => {
    const table = paints.map(rgb), values = [];
    meshes.forEach((mesh, part) => {
      const points = floats(mesh.points), faces = new Uint16Array(bytes(mesh.faces).buffer), paint = bytes(mesh.paint);
      faces.forEach((corner, i) => values.push(...points.subarray(3 * corner, 3 * corner + 3), ...table[paint[Math.floor(i / 3)]], part));
    });
    return { count: values.length / 7, ...corners(gl, new Float32Array(values)) };
  };

  // Stretches as two triangles each, whose corners know both ends and which one they are.
  const lineBuffer = (gl, line) => {
    const given = floats(line.ends ?? line.points), apart = line.ends ? 6 : 3, count = line.ends ? given.length / 6 : given.length / 3 - 1;
    const values = new Float32Array(42 * count);
    for (let i = 0; i < count; i++)
      CORNERS.forEach((corner, k) => {
        values.set(given.subarray(apart * i, apart * i + 6), 42 * i + 7 * k);
        values[42 * i + 7 * k + 6] = corner;
      });
    return { ...line, rgb: rgb(line.color), count, ...corners(gl, values) };
  };

  const IDENTITY = [1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1];
  const SAMPLES = 4; // of a pixel whose edges are smoothed

  // A matrix as the graphics take an array of them, column by column.
  const across = (m) => [0, 1, 2, 3].flatMap((j) => [m[j], m[4 + j], m[8 + j], m[12 + j]]);

  class Painter {
    constructor(canvas, data) {
      this.gl = canvas.getContext("webgl2", { antialias: false, premultipliedAlpha: true });
      if (!this.gl) throw new Error("no WebGL 2");
      this.canvas = canvas;
      this.data = data;
      this.solid = compiled(this.gl, SOLID(Math.max(data.hull.length, 1)));
      this.flat = compiled(this.gl, FLAT);
      this.line = compiled(this.gl, LINE);
      this.hulls = new Map(); // by colors
    }

    hull(paints) {
      const key = paints.join();
      if (!this.hulls.has(key)) this.hulls.set(key, meshBuffer(this.gl, this.data.hull, paints));
      return this.hulls.get(key);
    }

    take(stage) {
      for (const old of [...(this.lines ?? []), ...(this.solids ?? [])]) {
        this.gl.deleteVertexArray(old.array);
        this.gl.deleteBuffer(old.buffer);
      }
      this.lines = stage.lines.map((line) => lineBuffer(this.gl, line));
      this.solids = stage.solids.map((solid) => ({ name: solid.name, rgb: rgb(solid.color), ...meshBuffer(this.gl, [solid], [solid.color]) }));
      this.stage = stage;
    }

    // `where`: for each flight, a matrix for each part; `flown`: stretches of each track up to now; `smooth`: edges too.
    draw(view, camera, where, flown, smooth) {
      const { gl, canvas } = this;
      gl.bindFramebuffer(gl.FRAMEBUFFER, smooth ? this.samples() : null);
      gl.viewport(0, 0, canvas.width, canvas.height);
      gl.clearColor(0, 0, 0, 0);
      gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
      gl.enable(gl.DEPTH_TEST);
      this.drawSolids(view, where);
      this.drawLines(view, camera, flown);
      if (!smooth) return;
      gl.bindFramebuffer(gl.DRAW_FRAMEBUFFER, null);
      gl.blitFramebuffer(0, 0, canvas.width, canvas.height, 0, 0, canvas.width, canvas.height, gl.COLOR_BUFFER_BIT, gl.NEAREST);
      gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    }

    // Where a picture of the canvas' size is drawn with several samples a pixel.
    samples() {
      const { gl, canvas } = this;
      if (this.sampled?.width === canvas.width && this.sampled?.height === canvas.height) return this.sampled.buffer;
      const stores = this.sampled?.stores ?? [gl.createRenderbuffer(), gl.createRenderbuffer()];
      const buffer = this.sampled?.buffer ?? gl.createFramebuffer();
      gl.bindFramebuffer(gl.FRAMEBUFFER, buffer);
      [[gl.RGBA8, gl.COLOR_ATTACHMENT0], [gl.DEPTH_COMPONENT24, gl.DEPTH_ATTACHMENT]].forEach(([form, place], i) => {
        gl.bindRenderbuffer(gl.RENDERBUFFER, stores[i]);
        gl.renderbufferStorageMultisample(gl.RENDERBUFFER, SAMPLES, form, canvas.width, canvas.height);
        gl.framebufferRenderbuffer(gl.FRAMEBUFFER, place, gl.RENDERBUFFER, stores[i]);
      });
      this.sampled = { width: canvas.width, height: canvas.height, stores, buffer };
      return buffer;
    }

    drawSolids(view, where) {
      const { gl, solid, flat } = this;
      gl.enable(gl.POLYGON_OFFSET_FILL);
      gl.polygonOffset(1, 1);
      gl.useProgram(flat.program);
      gl.uniformMatrix4fv(flat.view, true, view);
      for (const ground of this.solids.filter((one) => one.name === "ground")) {
        gl.uniform4f(flat.color, ...ground.rgb, 1);
        gl.bindVertexArray(ground.array);
        gl.drawArrays(gl.TRIANGLES, 0, ground.count);
      }
      gl.disable(gl.POLYGON_OFFSET_FILL);
      gl.useProgram(solid.program);
      gl.uniformMatrix4fv(solid.view, true, view);
      for (const other of this.solids.filter((one) => one.name !== "ground")) this.mesh(other, [IDENTITY]);
      this.stage.flights.forEach((flight, i) => this.mesh(this.hull(flight.paints), where[i]));
    }

    mesh(mesh, places) {
      const { gl, solid } = this;
      gl.uniformMatrix4fv(solid.place, false, places.flatMap(across));
      gl.bindVertexArray(mesh.array);
      gl.drawArrays(gl.TRIANGLES, 0, mesh.count);
    }

    drawLines(view, camera, flown) {
      const { gl, line: at, canvas } = this;
      const pixel = canvas.width / Math.max(canvas.clientWidth, 1);
      gl.useProgram(at.program);
      gl.uniformMatrix4fv(at.view, true, view);
      gl.uniform2f(at.size, canvas.width, canvas.height);
      gl.uniform1f(at.near, camera.tall ? -1 : NEAR * Math.hypot(...minus(camera.at, camera.eye)));
      gl.uniform1f(at.zoom, Math.hypot(view[4], view[5], view[6]));
      gl.enable(gl.BLEND);
      gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);
      gl.depthMask(false); // of two stretches that meet, none hides the other
      for (const line of this.lines) {
        const number = line.name.startsWith("track-") ? Number(line.name.slice(6)) : -1;
        const parts = number < 0 ? [[line.count, 1]] : [[line.count, 0.3], [Math.min(flown[number], line.count), 1]];
        gl.uniform1f(at.radius, line.radius);
        gl.uniform1f(at.hair, (line.radius ? 0.9 : 0.5) * pixel);
        gl.bindVertexArray(line.array);
        for (const [count, alpha] of parts) {
          gl.uniform4f(at.color, ...line.rgb, alpha);
          gl.uniform1f(at.cap, alpha < 1 ? 0 : 0.5); // what shines through must not lie on itself
          gl.drawArrays(gl.TRIANGLES, 0, 6 * count);
        }
      }
      gl.depthMask(true);
      gl.disable(gl.BLEND);
    }
  }

  // ---------------------------------------------------------------- the page around it

  const make = (tag, properties, ...children) => {
    const made = Object.assign(document.createElement(tag), properties);
    made.append(...children);
    return made;
  };

  const TELL_EVERY = 100, SLOW = 0.03; // ms from one telling of the numbers to the next; s a picture may take with smooth edges

  class Player {
    constructor(root, data) {
      this.data = data;
      for (const stage of data.stages)
        for (const flight of stage.flights) if (typeof flight.rows === "string") flight.rows = floats(flight.rows);
      this.canvas = make("canvas", { className: "scene" });
      this.painter = new Painter(this.canvas, data);
      this.words = make("div", { className: "words", ariaHidden: "true" });
      this.picture = make("div", { className: "picture" }, this.canvas, this.words);
      this.picture.style.background = `linear-gradient(${data.sky[1]}, ${data.sky[0]})`;
      this.button = make("button", { type: "button", className: "play", onclick: () => this.toggle() });
      this.slider = make("input", { type: "range", step: "any", oninput: () => this.place(Number(this.slider.value)) });
      this.slider.setAttribute("aria-label", "time of the flight in seconds");
      this.clock = make("output", { className: "clock" });
      this.slow = make("input", { type: "checkbox" });
      this.choice = make("select", { onchange: () => this.show(Number(this.choice.value)) });
      data.stages.forEach((stage, i) => this.choice.append(make("option", { value: i, textContent: stage.title })));
      this.views = Object.entries(data.views).map(([key, words]) =>
        make("button", { type: "button", textContent: words, onclick: () => this.look(key), name: key }));
      this.table = make("table", { className: "readouts" });
      this.chart = make("div", { className: "chart" });
      this.cursor = make("div", { className: "cursor" });
      root.replaceChildren(
        make("p", { className: "choice" }, make("label", {}, "flight ", this.choice)),
        this.picture,
        make("p", { className: "row" }, this.button, this.slider, this.clock),
        make("p", { className: "row views" }, ...this.views, make("label", {}, this.slow, " a quarter as fast")),
        this.chart,
        make("div", { className: "wide" }, this.table),
      );
      this.view = Object.keys(data.views)[0];
      this.playing = false;
      new ResizeObserver(() => this.paint()).observe(this.picture);
      this.show(0);
    }

    // The same flights flown again: other stages in the place of these, at the same time, seen from the same place.
    retake(data) {
      for (const stage of data.stages) for (const flight of stage.flights) flight.rows = floats(flight.rows);
      this.data = this.painter.data = data;
      const same = this.choice.length === data.stages.length && data.stages.every((s, i) => this.choice.options[i].text === s.title);
      if (!same) this.choice.replaceChildren(...data.stages.map((s, i) => make("option", { value: i, textContent: s.title })));
      const time = same ? this.time : -Infinity;
      this.show(same ? this.number : 0);
      this.place(time);
    }

    // Another of the stages.
    show(number) {
      this.number = number;
      this.stage = this.data.stages[number];
      this.painter.take(this.stage);
      Object.assign(this.slider, { min: this.stage.begin, max: this.stage.end });
      this.canvas.setAttribute("role", "img");
      this.canvas.setAttribute("aria-label", `${this.stage.title}, replayed: ${this.stage.flights.map((f) => f.words).join(", ")}`);
      this.labels = [...this.stage.labels, ...this.stage.flights.map((flight) => ({ words: flight.words.split(":")[0], color: flight.paints[0] }))];
      this.words.replaceChildren(...this.labels.map((label) => {
        const made = make("span", { textContent: label.words });
        made.style.color = label.color;
        return made;
      }));
      this.sizes = undefined;
      this.fillTable();
      const chart = document.querySelector(`[data-chart="${number}"] svg`);
      this.chart.replaceChildren(...(chart ? [chart.cloneNode(true), make("div", { className: "ruler" }, this.cursor)] : []));
      this.look(this.view);
      this.place(this.stage.begin);
    }

    fillTable() {
      const head = make("tr", {}, make("td", {}), ...this.stage.flights.map((flight) => {
        const cell = make("th", { scope: "col", textContent: flight.words });
        cell.style.setProperty("--flight", flight.paints[0]);
        return cell;
      }));
      const words = ["phase", ...this.data.readouts.map((readout) => readout.word)];
      const rows = words.map((word) => make("tr", {}, make("th", { scope: "row", textContent: word }), ...this.stage.flights.map(() => make("td", {}))));
      this.table.replaceChildren(make("caption", { textContent: "at this moment" }), make("tbody", {}, head, ...rows));
      this.cells = rows.map((row) => [...row.children].slice(1));
    }

    rows(time) {
      return this.stage.flights.map((flight) => rowAt(flight, this.data.columns, time));
    }

    // Matrices of all parts of the airplane of each flight.
    placements(time) {
      return this.rows(time).map((row) => {
        const still = body(row, this.stage.scale);
        return this.data.hull.map((part) => (part.channel ? product(still, turned(part, row[part.channel])) : still));
      });
    }

    camera(time) {
      const rows = this.rows(time), n = rows.length;
      const middle = rows.reduce((sum, row) => plus(sum, [row.east / n, row.north / n, -row.down / n]), [0, 0, 0]);
      return following(this.stage.cameras[this.view], middle);
    }

    look(view) {
      this.view = view;
      for (const button of this.views) button.setAttribute("aria-pressed", String(button.name === view));
      this.paint();
    }

    place(time) {
      this.time = Math.min(Math.max(time, this.stage.begin), this.stage.end);
      this.slider.value = this.time;
      if (!this.playing || !(performance.now() - this.told < TELL_EVERY)) this.tell();
      this.moveCursor();
      this.paint();
    }

    // The clock and the numbers; nobody reads them faster than a few times a second.
    tell() {
      this.told = performance.now();
      this.clock.textContent = `${this.time.toFixed(1)} s`;
      this.rows(this.time).forEach((row, i) => {
        const texts = [this.stage.flights[i].phases[row.phase], ...this.data.readouts.map((r) => said(r, row, this.data.not_counted))];
        texts.forEach((text, k) => { if (this.cells[k][i].textContent !== text) this.cells[k][i].textContent = text; });
      });
    }

    // The cursor is as wide as the drawing and lies over it, so that nothing is drawn anew as it moves.
    moveCursor() {
      const svg = this.chart.firstChild;
      if (!svg) return;
      const { zero, left, right, second } = svg.dataset;
      const x = Number(left) + (this.time - Number(zero)) * Number(second);
      this.cursor.style.visibility = x < Number(left) || x > Number(right) + 0.5 ? "hidden" : "";
      this.cursor.style.transform = `translateX(${((100 * x) / svg.viewBox.baseVal.width).toFixed(2)}%)`;
    }

    toggle() {
      if (!this.playing && this.time >= this.stage.end) this.place(this.stage.begin);
      this.playing = !this.playing;
      this.button.textContent = this.playing ? "Pause" : "Play";
      this.last = undefined;
      if (this.playing) requestAnimationFrame((now) => this.tick(now));
      else this.place(this.time); // with all its numbers and smooth edges
    }

    tick(now) {
      if (!this.playing) return;
      const seconds = Math.min((now - (this.last ?? now)) / 1000, 0.25);
      this.last = now;
      this.pace = 0.9 * (this.pace ?? 0) + 0.1 * seconds;
      this.slowly ||= this.pace > SLOW; // edges are smoothed again as it stands still
      this.place(this.time + seconds * (this.slow.checked ? 0.25 : 1));
      if (this.time >= this.stage.end) this.toggle();
      else requestAnimationFrame((next) => this.tick(next));
    }

    paint() {
      if (this.time === undefined || !this.picture.clientWidth) return;
      this.button.textContent = this.playing ? "Pause" : "Play";
      const pixel = Math.min(window.devicePixelRatio || 1, 2);
      const width = Math.round(this.picture.clientWidth * pixel), height = Math.round(this.picture.clientHeight * pixel);
      if (this.canvas.width !== width || this.canvas.height !== height) Object.assign(this.canvas, { width, height });
      const camera = this.camera(this.time), view = seenBy(camera, width / height), rows = this.rows(this.time);
      const where = this.placements(this.time);
      this.painter.draw(view, camera, where, rows.map((row) => row.number + 1), !(this.playing && this.slowly));
      this.putWords(view, rows);
    }

    // Words at their places, the airplanes' first, those that would lie over others left out.
    putWords(view, rows) {
      const spans = [...this.words.children], fixed = this.stage.labels.length, taken = [];
      const { clientWidth: width, clientHeight: height } = this.picture;
      const places = this.labels.map((label, i) => label.at ?? [rows[i - fixed].east, rows[i - fixed].north, -rows[i - fixed].down]);
      const reach = (0.75 * this.stage.scale * this.data.length * Math.hypot(view[4], view[5], view[6]) * height) / 2; // of the airplane
      this.sizes ??= spans.map((span) => [span.offsetWidth / 2 + 4, span.offsetHeight / 2 + 1]);
      const order = [...places.keys()].sort((a, b) => (b >= fixed) - (a >= fixed) || a - b);
      for (const i of order) {
        const [x, y, , w] = times(view, places[i]), span = spans[i];
        const at = [((x / w + 1) / 2) * width, ((1 - y / w) / 2) * height + (i < fixed ? 0 : (reach / w) * ((i - fixed) % 2 ? 1 : -1))];
        const half = this.sizes[i];
        const inside = w > 0 && at[0] > half[0] && at[0] < width - half[0] && at[1] > half[1] && at[1] < height - half[1];
        const free = taken.every((box) => Math.abs(box[0] - at[0]) > box[2] + half[0] || Math.abs(box[1] - at[1]) > box[3] + half[1]);
        span.style.visibility = inside && free ? "visible" : "hidden";
        span.style.transform = `translate(-50%, -50%) translate(${at[0].toFixed(1)}px, ${at[1].toFixed(1)}px)`;
        if (inside && free) taken.push([...at, ...half]);
      }
    }
  }

  const start = (root, data) => {
    try {
      const player = new Player(root, data);
      root.player = Object.assign(player, { seenBy });
      return player;
    } catch (error) {
      if (error.message !== "no WebGL 2") throw error;
      return null;
    }
  };
  return start;
})();
