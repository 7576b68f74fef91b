// A part to turn: plain WebGL, one canvas for the whole page, put over the still picture when asked for.
// Without a script or WebGL the still pictures stay, and no button is shown.
(() => {
  const {shades, bodies} = JSON.parse(document.getElementById('bodies').textContent);
  const canvas = document.createElement('canvas');
  const gl = canvas.getContext('webgl', {alpha: true, preserveDrawingBuffer: true});
  if (!gl) return;
  const program = gl.createProgram();
  const shader = (kind, source) => {
    const made = gl.createShader(kind);
    gl.shaderSource(made, source);
    gl.compileShader(made);
    gl.attachShader(program, made);
  };
  // Normals lie folded on a square (octahedron); light comes over the viewer's left shoulder, as in the stills.
  shader(gl.VERTEX_SHADER, `attribute vec3 place;attribute vec2 fold;attribute float strain;
    uniform mat3 turn;uniform vec2 zoom;uniform float lift;varying float light,step_;
    void main(){vec3 at=turn*(place*2.-1.);vec3 n=vec3(fold,1.-abs(fold.x)-abs(fold.y));
    if(n.z<0.)n.xy=(1.-abs(n.yx))*vec2(n.x<0.?-1.:1.,n.y<0.?-1.:1.);
    light=.68+.32*max(0.,dot(normalize(turn*n),normalize(vec3(-.25,.45,.85))));
    step_=strain*5.1;gl_Position=vec4(at.xy*zoom,-at.z*.4-lift,1);}`);
  shader(gl.FRAGMENT_SHADER, `precision mediump float;uniform vec3 colour,shades[5];uniform bool shown;varying float light,step_;
    void main(){vec3 c=colour;if(shown)c=step_<1.?shades[0]:step_<2.?shades[1]:step_<3.?shades[2]:
    step_<4.?shades[3]:mod(gl_FragCoord.x+gl_FragCoord.y,8.)<3.?vec3(1,.9,.8):shades[4];
    gl_FragColor=vec4(c*(shown?1.:light),1);}`);
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) return;
  gl.useProgram(program);
  const where = name => gl.getUniformLocation(program, name);
  const uniforms = {turn: where('turn'), zoom: where('zoom'), lift: where('lift'), colour: where('colour'), shown: where('shown')};
  gl.uniform3fv(where('shades'), shades.flat().map(c => c / 255));
  const vertices = gl.createBuffer(), corners = gl.createBuffer();
  gl.bindBuffer(gl.ARRAY_BUFFER, vertices);
  gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, corners);
  gl.enable(gl.DEPTH_TEST);

  let figure, body, around, up, zoom, strain;
  const draw = () => {
    const sharp = Math.min(devicePixelRatio || 1, 2), wide = canvas.clientWidth, high = wide * .75;
    canvas.width = wide * sharp;
    canvas.height = high * sharp;
    gl.viewport(0, 0, canvas.width, canvas.height);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    const [sa, ca, su, cu] = [Math.sin(around), Math.cos(around), Math.sin(up), Math.cos(up)];
    const right = [-sa, ca, 0], over = [-ca * su, -sa * su, cu], towards = [ca * cu, sa * cu, su];
    gl.uniformMatrix3fv(uniforms.turn, false, [0, 1, 2].flatMap(k => [right[k], over[k], towards[k]]));
    gl.uniform2f(uniforms.zoom, zoom * .75, zoom);
    let from = 0;
    body.skins.forEach(([colour, count], k) => {
      // Films are seen from their own side only, a little nearer than what lies under them.
      k ? gl.enable(gl.CULL_FACE) : gl.disable(gl.CULL_FACE);
      gl.uniform1f(uniforms.lift, k ? .008 + k * 1e-5 : 0);
      gl.uniform1i(uniforms.shown, k && strain);
      gl.uniform3fv(uniforms.colour, colour.map(c => c / 255));
      gl.drawElements(gl.TRIANGLES, count, gl.UNSIGNED_SHORT, from * 2);
      from += count;
    });
  };
  const load = () => {
    const bytes = Uint8Array.from(atob(body.data), c => c.charCodeAt(0)), n = body.points;
    gl.bufferData(gl.ARRAY_BUFFER, bytes.subarray(0, n * 9), gl.STATIC_DRAW);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, bytes.slice(n * 9), gl.STATIC_DRAW);
    [['place', 3, gl.UNSIGNED_SHORT, 0], ['fold', 2, gl.BYTE, n * 6], ['strain', 1, gl.UNSIGNED_BYTE, n * 8]].forEach(
      ([name, size, kind, at]) => {
        const to = gl.getAttribLocation(program, name);
        gl.enableVertexAttribArray(to);
        gl.vertexAttribPointer(to, size, kind, true, 0, at);
      });
  };
  const first = () => ([around, up] = body.view, zoom = .9);
  const turned = (a, u) => {
    around += a;
    up = Math.max(-1.57, Math.min(1.57, up + u));
    draw();
  };
  const zoomed = by => (zoom = Math.max(.4, Math.min(12, zoom * by)), draw());
  const tools = document.createElement('div');
  tools.className = 'tools';
  const tool = (words, does) => {
    const button = document.createElement('button');
    button.type = 'button';
    button.textContent = words;
    button.onclick = () => does(button);
    tools.append(button);
    return button;
  };
  const held = new Map();
  const close = () => {
    if (!figure) return;
    held.clear();
    figure.classList.remove('turned');
    const button = figure.querySelector('.turn');
    button.hidden = false;
    button.focus();
    canvas.remove();
    tools.remove();
    figure = null;
  };
  const painted = tool('Show strain', button => {
    strain = !strain;
    button.textContent = strain ? 'Show colours' : 'Show strain';
    draw();
  });
  tool('Nearer', () => zoomed(1.25));
  tool('Farther', () => zoomed(.8));
  tool('Still picture', close);
  const open = button => {
    close();
    figure = button.closest('figure');
    body = bodies[button.dataset.body];
    strain = false;
    painted.textContent = 'Show strain';
    canvas.setAttribute('aria-label', button.dataset.says +
      ' Turn with the arrow keys, nearer and farther with + and -, 0 for the first view, Escape for the still picture.');
    button.hidden = true;
    button.before(canvas, tools);
    figure.classList.add('turned');
    load();
    first();
    draw();
    canvas.focus();
  };
  canvas.tabIndex = 0;
  canvas.setAttribute('role', 'img');
  const keys = {
    ArrowLeft: () => turned(.175, 0), ArrowRight: () => turned(-.175, 0),
    ArrowUp: () => turned(0, -.175), ArrowDown: () => turned(0, .175),
    '+': () => zoomed(1.25), '=': () => zoomed(1.25), '-': () => zoomed(.8),
    0: () => (first(), draw()), Home: () => (first(), draw()), Escape: close,
  };
  canvas.onkeydown = event => {
    if (!keys[event.key] || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    keys[event.key]();
  };
  // One finger or the mouse turns, two fingers bring it nearer.
  const apart = () => {
    const [a, b] = held.values();
    return Math.hypot(a.x - b.x, a.y - b.y);
  };
  canvas.onpointerdown = event => {
    canvas.setPointerCapture(event.pointerId);
    held.set(event.pointerId, {x: event.clientX, y: event.clientY});
  };
  canvas.onpointermove = event => {
    const was = held.get(event.pointerId);
    if (!was) return;
    const before = held.size > 1 ? apart() : 0;
    const now = {x: event.clientX, y: event.clientY};
    held.set(event.pointerId, now);
    if (held.size > 1) zoomed(apart() / Math.max(before, 1));
    else turned((was.x - now.x) * .01, (now.y - was.y) * .01);
  };
  canvas.onpointerup = canvas.onpointercancel = event => held.delete(event.pointerId);
  addEventListener('resize', () => figure && draw());
  document.querySelectorAll('button.turn').forEach(button => {
    button.hidden = false;
    button.onclick = () => open(button);
  });
})();
