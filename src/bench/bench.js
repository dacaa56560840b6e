(function () {
  'use strict';
  var state = null, myJob = null, shownJob = null, polling = 0, pending = null;
  function by(id) { return document.getElementById(id); }
  function show(element, on) { element.hidden = !on; }
  function say(element, words) {
    if (element.textContent !== words) element.textContent = words;
    show(element, words !== '');
  }
  function remember(job) { try { sessionStorage.setItem('job', job); } catch (refused) { } }
  function remembered() { try { return Number(sessionStorage.getItem('job')) || null; } catch (refused) { return null; } }

  // The token is in the cookie by now: it need not stay in the address, nor in the history.
  if (location.search) history.replaceState(null, '', '/');

  function problem(answer, status) {
    if (answer && answer.wrong) return answer.wrong + '. Do: ' + answer.todo + '.';
    if (status === 403) return 'This page is not let in any more: scan the code again.';
    return 'The computer does not answer. See that evenbevel bench still runs and that the phone is on the shop’s network.';
  }
  function parsed(request) { try { return JSON.parse(request.responseText); } catch (other) { return null; } }

  function ask(method, path, said, then, failed) {
    var request = new XMLHttpRequest();
    request.open(method, path);
    request.timeout = 15000;
    request.setRequestHeader('X-Bench-Page', '1');
    request.onload = function () {
      var answer = parsed(request);
      if (request.status === 200 && answer) { say(by('offline'), ''); then(answer); }
      else failed(problem(answer, request.status));
    };
    request.onerror = request.ontimeout = function () { failed(problem(null, 0)); };
    request.send(said ? JSON.stringify(said) : null);
  }
  function offline(words) { say(by('offline'), words); again(3000); }

  // What is on the bench.
  function choice(thickness, tolerance) {
    var view = document.querySelector('input[name=view]:checked'), said = { view: view ? view.value : 'edge',
      knife: by('knife').value.trim(), stage: by('stage').value.trim(), thickness: thickness };
    if (tolerance !== undefined) said.tolerance = tolerance;
    return said;
  }
  function choose(thickness, then, tolerance) {
    ask('POST', 'choose', choice(thickness, tolerance), function (answer) {
      say(by('setup-problem'), '');
      if (answer.judged_anew) {
        myJob = answer.judged_anew;
        remember(myJob);
      } else {
        answer.job = state ? state.job : answer.job;
      }
      draw(answer, true);
      if (then) then();
    }, function (words) { by('setup').open = true; say(by('setup-problem'), words); });
  }
  function drawKinds() {
    var kinds = by('kinds');
    if (kinds.childElementCount === state.kinds.length) return;
    kinds.replaceChildren.apply(kinds, state.kinds.map(function (kind) {
      var label = document.createElement('label'), input = document.createElement('input'), words = document.createElement('span');
      input.type = 'radio';
      input.name = 'view';
      input.value = kind.view;
      words.textContent = kind.label;
      input.addEventListener('change', function () { choose(by('thickness').value.trim()); });
      label.append(input, ' ', words);
      return label;
    }));
  }
  // Another knife brings its own thickness, and does not take over the last knife's.
  by('knife').addEventListener('change', function () {
    var known = state.knives.indexOf(by('knife').value.trim()) >= 0;
    choose(known || state.thickness_of_knife ? '' : by('thickness').value.trim());
  });
  by('thickness').addEventListener('change', function () { choose(by('thickness').value.trim()); });
  // Another one is kept, with the knife or for the shop; none takes it back.
  by('tolerance').addEventListener('change', function () {
    choose(by('thickness').value.trim(), null, by('tolerance').value.trim());
  });

  function fill(input, value) { if (document.activeElement !== input) input.value = value; }
  function viewWords(view) {
    var found = state.kinds.filter(function (kind) { return kind.view === view; });
    return found.length ? found[0].label : view;
  }
  function drawSetup(first) {
    drawKinds();
    document.querySelector('input[name=view][value=' + state.view + ']').checked = true;
    fill(by('knife'), state.knife);
    fill(by('stage'), state.stage);
    if (first) by('thickness').value = state.thickness; else fill(by('thickness'), state.thickness);
    by('thickness-note').textContent = !state.thickness_of_knife ? '(between the flats, by micrometer)' :
      state.thickness_of_knife === state.thickness ? '(known of ' + state.knife + ')' :
      '(counts now; ' + state.thickness_of_knife + ' stays with ' + state.knife + ')';
    if (first) by('tolerance').value = state.tolerance; else fill(by('tolerance'), state.tolerance);
    by('tolerance').placeholder = 'none: no verdict';
    by('tolerance-of').textContent = state.tolerance_of;
    by('tolerance-note').textContent = state.tolerance_from === 'knife' ? '(' + state.knife + '’s)' :
      state.tolerance_from === 'shop' ? '(the shop’s' + (state.knife ? '; typed here, it is ' + state.knife + '’s)' : ')') :
      state.knife ? '(is kept for ' + state.knife + ')' : '(is kept for the shop)';
    show(by('allowed'), state.tolerance_of !== '');
    if (state.fault) say(by('setup-problem'), problem(state.fault, 0));
    show(by('blade'), state.of_a_knife);
    var knives = by('knives');
    knives.replaceChildren.apply(knives, state.knives.map(function (name) {
      var option = document.createElement('option');
      option.value = name;
      return option;
    }));
    by('chosen').textContent = viewWords(state.view) + (state.of_a_knife && state.knife ? ', ' + state.knife : '') +
      (state.of_a_knife && state.thickness ? ', ' + state.thickness : '');
    if (!state.ready) by('setup').open = true;
    document.body.classList.toggle('unready', !state.ready);
    by('guide').textContent = state.ready ? state.guide : 'First type in the stock’s thickness, by micrometer.';
  }

  // What became of a photo.
  function row(one) {
    var all = document.createElement('div');
    [['dt', '', one.label], ['dd', 'value', one.value], ['dd', 'u', one.U95 ? 'U95 ' + one.U95 : ''],
      ['dd', 'note', one.note]].forEach(function (part) {
      if (!part[2]) return;
      var element = document.createElement(part[0]);
      element.className = part[1];
      element.textContent = part[2];
      all.appendChild(element);
    });
    return all;
  }
  function capital(words) { return words.charAt(0).toUpperCase() + words.slice(1); }
  function items(list, words) {
    list.replaceChildren.apply(list, words.map(function (one) {
      var item = document.createElement('li');
      item.textContent = one;
      return item;
    }));
  }
  function drawJob(job) {
    var measured = job.state === 'measured', refused = job.state === 'refused', said = job.said || {};
    by('head').className = measured ? said.verdict : job.state;
    by('title').textContent = (measured ? said.title : viewWords(job.view)) +
      (job.steps > 1 ? ', photo ' + job.step + ' of ' + job.steps : '');
    by('headline').textContent = measured ? said.headline : refused ? 'NOT MEASURED' :
      job.state === 'waiting' ? 'WAITING' : 'MEASURING';
    by('todo').textContent = refused ? capital(said.wrong) + '.' : '';
    show(by('measuring'), !measured && !refused);
    by('measuring').querySelector('span').textContent = job.before > 0 ? job.before + ' before it' : '';
    by('rows').replaceChildren.apply(by('rows'), measured ? said.rows.map(row) : []);
    by('next').textContent = refused ? 'Do: ' + said.todo + '.' : measured && said.next.length ? said.next[0] :
      measured && said.better_photo.length ? said.better_photo[0] : '';
    ['tip', 'shows'].forEach(function (question) {
      show(by('ask-' + question), job.questions.indexOf(question) >= 0);
    });
    show(by('zoom'), job.has_picture);
    if (job.has_picture) by('picture').src = 'picture.jpg?job=' + job.id;
    if (job.has_report) by('report').href = 'report.html?job=' + job.id;
    items(by('warnings'), measured ? said.warnings.concat(said.next.slice(1), said.next.length ? said.better_photo :
      said.better_photo.slice(1)) : []);
    show(by('report'), job.has_report);
    show(by('again'), measured || refused);
    show(by('result'), !job.dropped);
  }
  function drawKeep(job) {
    show(by('keep'), job.can_keep);
    if (!job.can_keep) return;
    var knife = by('knife').value.trim(), stage = by('stage').value.trim();
    by('keep-button').textContent = !knife ? 'Keep: name the knife first' : 'Keep for ' + knife + (stage ? ', ' + stage : '');
    by('keep-button').disabled = job.keeping === 'waiting' || job.keeping === 'kept';
    by('kept').textContent = job.keeping === 'waiting' ? 'Being put into the record …' :
      job.keeping === 'kept' ? 'Kept: entry ' + job.kept.entry + ', ' + job.kept.knife + ', ' + job.kept.stage + '.' :
      job.keeping === 'not kept' ? problem(job.kept, 0) : '';
  }
  function draw(answer, first) {
    state = answer;
    drawSetup(first);
    watchLive();
    var job = state.job;
    if (!job) return again(3000);
    drawOver();
    var mark = job.id + job.state + job.before + job.questions + job.dropped;
    if (mark !== shownJob) {
      drawJob(job);
      shownJob = mark;
      if (job.id === myJob && (job.state === 'measured' || job.state === 'refused')) {
        window.scrollTo(0, by('result').offsetTop);
        by('headline').focus({ preventScroll: true });
      }
    }
    drawKeep(job);
    again(job.state === 'waiting' || job.state === 'measuring' || job.keeping === 'waiting' ? 200 : 3000);
  }
  function again(wait) {
    clearTimeout(polling);
    polling = setTimeout(refresh, wait);
  }
  function refresh() {
    if (document.hidden && state) return again(1000);
    ask('GET', 'state' + (myJob ? '?job=' + myJob : ''), null, function (answer) { draw(answer, !state); }, offline);
  }

  // A photo on its way.
  function busy(on) { document.body.classList.toggle('busy', on); show(by('upload'), on); }
  function sendPhoto(file, tries) {
    say(by('upload-problem'), '');
    if (state && file.size > state.most_bytes) {
      return say(by('upload-problem'), 'This file has ' + Math.round(file.size / 1e6) + ' MB, at most ' +
        Math.round(state.most_bytes / 1e6) + ' MB are taken. Do: send one photo as the camera makes it.');
    }
    busy(true);
    pending = file;
    var request = new XMLHttpRequest();
    request.open('POST', 'photo');
    request.setRequestHeader('X-Bench-Page', '1');
    request.setRequestHeader('Content-Type', 'application/octet-stream');
    request.timeout = 180000;
    request.upload.onprogress = function (event) {
      by('sent').value = event.lengthComputable ? 100 * event.loaded / event.total : 0;
      by('sent-words').textContent = Math.round(event.loaded / 1e5) / 10 + ' MB sent';
    };
    request.onload = function () {
      busy(false);
      var answer = parsed(request);
      if (request.status !== 200 || !answer) return say(by('upload-problem'), problem(answer, request.status));
      myJob = answer.job;
      remember(myJob);
      by('setup').open = false;
      refresh();
    };
    request.onerror = request.ontimeout = function () {
      if (tries > 0) return setTimeout(function () { sendPhoto(file, tries - 1); }, 1000);
      busy(false);
      say(by('upload-problem'), 'The photo did not get through: the connection was lost. Do: come nearer to the access point and send it again.');
    };
    request.send(file);
  }
  ['camera', 'stored'].forEach(function (id) {
    by(id).addEventListener('change', function () {
      var file = by(id).files[0];
      if (!file) return;
      // What was typed last is settled before the photo goes.
      choose(by('thickness').value.trim(), function () { by(id).value = ''; sendPhoto(file, 2); });
    });
  });

  by('again').addEventListener('click', function () {
    var refused = state.job && state.job.state === 'refused';
    function shoot() { by('camera').click(); }
    if (refused && !watching) return shoot();
    if (!watching) shoot();
    ask('POST', 'again', null, function (answer) { answer.job = state.job; draw(answer, false); }, offline);
  });
  // Two touches: what is thrown away may be ten photos.
  var overTimer = 0;
  function armOver(on) {
    clearTimeout(overTimer);
    by('over').classList.toggle('armed', on);
    if (on) overTimer = setTimeout(function () { armOver(false); drawOver(); }, 5000);
  }
  function drawOver() {
    var armed = by('over').classList.contains('armed');
    by('over').textContent = !armed ? 'Start over' : state.begun === 1 ? 'Really? The photo so far counts no more' :
      'Really? The ' + state.begun + ' photos so far count no more';
    show(by('over'), state.begun > 0);
  }
  by('over').addEventListener('click', function () {
    var sure = by('over').classList.contains('armed');
    armOver(!sure);
    drawOver();
    if (sure) ask('POST', 'start-over', null, function (answer) { answer.job = state.job && state.job.has_report ? state.job : answer.job;
      draw(answer, false); }, offline);
  });
  // What the photo did not tell: one touch measures it once more.
  ['tip', 'shows'].forEach(function (question) {
    by('ask-' + question).addEventListener('click', function (event) {
      var said = event.target.getAttribute('data-answer');
      if (!said) return;
      var answer = { job: state.job.id };
      answer[question] = said;
      ask('POST', 'answer', answer, function (now) { myJob = now.job.id; remember(myJob); draw(now, false); }, offline);
    });
  });
  by('keep').addEventListener('submit', function (event) {
    event.preventDefault();
    if (!by('knife').value.trim()) { by('setup').open = true; return by('knife').focus(); }
    if (!by('stage').value.trim()) return by('stage').focus();
    ask('POST', 'keep', { job: state.job.id, knife: by('knife').value.trim(), stage: by('stage').value.trim() },
      function (answer) { draw(answer, false); }, function (words) { by('kept').textContent = words; });
  });
  by('stage').addEventListener('input', function () { if (state && state.job) drawKeep(state.job); });
  by('stage').addEventListener('change', function () { choose(by('thickness').value.trim()); });
  by('zoom').addEventListener('click', function () {
    by('large').querySelector('img').src = by('picture').src;
    by('large').showModal();
  });
  by('close').addEventListener('click', function () { by('large').close(); });

  // The camera over the bench, where there is one: what it sees, newest frame only.
  var watching = false, shownFrame = 0, liveTimer = 0, takenJob = null, loading = false;
  function watchLive() {
    if (watching === state.has_camera) return;
    watching = state.has_camera;
    show(by('live'), watching);
    if (watching) pollLive();
  }
  function pollLive() {
    clearTimeout(liveTimer);
    if (document.hidden) { liveTimer = setTimeout(pollLive, 1000); return; }
    ask('GET', 'live', null, function (answer) { drawLive(answer); liveTimer = setTimeout(pollLive, 30); },
      function (words) { say(by('live-fault'), words); liveTimer = setTimeout(pollLive, 2000); });
  }
  function text(id, words) { if (by(id).textContent !== words) by(id).textContent = words; }
  function said(fault) { return fault ? capital(fault.wrong) + '. Do: ' + fault.todo + '.' : ''; }
  function drawLive(live) {
    if (live.frame !== shownFrame && !loading) {
      loading = true;
      shownFrame = live.frame;
      by('live-picture').src = 'live.jpg?frame=' + live.frame;
    }
    say(by('live-fault'), said(live.fault));
    say(by('live-take-fault'), said(live.take_fault));
    var bad = live.checks.filter(function (check) { return !check.well; });
    text('live-do', live.taking ? 'Taking it: leave everything as it is' : bad.length ? capital(bad[0].todo) + '.' :
      !live.checks.length ? '' : !live.by_itself ? 'All is well: take it.' : !live.armed ? 'Taken. Change something, or take it again by hand.' :
      live.number && live.number.refused ? capital(live.number.refused) + '.' : 'All is well: hold still.');
    by('live-do').className = bad.length ? 'first' : 'first well';
    var number = live.number && live.number.value ? live.number : null;
    text('live-value', number ? number.value : '');
    text('live-side', number ? number.side : '');
    text('live-u', number ? 'U95 ' + number.U95 + (number.age_s > 3 ? ', ' + Math.round(number.age_s) + ' s ago' : '') : '');
    var list = by('live-checks');
    while (list.childElementCount < live.checks.length) list.appendChild(document.createElement('li'));
    while (list.childElementCount > live.checks.length) list.removeChild(list.lastChild);
    live.checks.forEach(function (check, i) {
      var item = list.children[i], words = capital(check.name) + ': ' + check.words;
      if (item.textContent !== words) item.textContent = words;
      item.className = check.well ? '' : 'bad';
    });
    by('live-by-itself').checked = live.by_itself;
    text('live-facts', live.frames_a_second ? Math.round(live.frames_a_second) + ' pictures a second; focus: ' + live.focus : '');
    if (takenJob !== null && live.taken_job !== takenJob && live.taken_job > 0) {
      myJob = live.taken_job;
      remember(myJob);
      refresh();
    }
    takenJob = live.taken_job;
  }
  function liveOrder(what) {
    ask('POST', 'live', { do: what }, drawLive, function (words) { say(by('live-take-fault'), words); });
  }
  by('live-picture').addEventListener('load', function () { loading = false; });
  by('live-picture').addEventListener('error', function () { loading = false; });
  by('live-take').addEventListener('click', function () { liveOrder('take'); });
  by('live-focus').addEventListener('click', function () { liveOrder('focus'); });
  by('live-by-itself').addEventListener('change', function () { liveOrder(by('live-by-itself').checked ? 'by itself' : 'by hand'); });

  myJob = remembered();
  refresh();
})();
