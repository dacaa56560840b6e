(function () {
  var root = document.documentElement;
  function each(list, act) { Array.prototype.forEach.call(list, act); }
  root.classList.add('js');
  var charts = [];
  each(document.querySelectorAll('.chart'), function (chart) {
    var slots = chart.querySelectorAll('.slot'), place = chart.querySelector('.place');
    var said = chart.querySelector('output'), now = -1;
    function words(k) { return slots[k].getAttribute('data-' + root.dataset.unit); }
    function show(k) {
      if (now >= 0) slots[now].classList.remove('now');
      now = k;
      slots[k].classList.add('now');
      place.value = k;
      place.setAttribute('aria-valuetext', words(k));
      said.textContent = words(k);
    }
    each(slots, function (slot, k) {
      slot.addEventListener('pointerenter', function () { show(k); });
      slot.addEventListener('click', function () { show(k); });
    });
    place.addEventListener('input', function () { show(Number(place.value)); });
    charts.push(function () { if (now >= 0) show(now); });
  });
  // A picture fits the page; touched, it fills the window in its own size, and scrolls there.
  each(document.querySelectorAll('.picture img, .shot img'), function (img) {
    var figure = img.closest('figure');
    function turn() {
      var large = figure.classList.toggle('large');
      img.setAttribute('aria-expanded', String(large));
      if (!large) figure.scrollIntoView({ block: 'nearest' });
    }
    img.tabIndex = 0;
    img.setAttribute('role', 'button');
    img.setAttribute('aria-expanded', 'false');
    img.addEventListener('click', turn);
    img.addEventListener('keydown', function (event) {
      var key = event.key, open = figure.classList.contains('large');
      if (key !== 'Enter' && key !== ' ' && !(key === 'Escape' && open)) return;
      event.preventDefault();
      turn();
    });
  });
  // A page that reloads itself keeps what was chosen; where nothing may be kept, it does without.
  function kept() { try { return sessionStorage.getItem('unit'); } catch (refused) { return null; } }
  function keep(unit) { try { sessionStorage.setItem('unit', unit); } catch (refused) { } }
  each(document.querySelectorAll('input[name=unit]'), function (choice) {
    function choose() {
      root.dataset.unit = choice.value;
      charts.forEach(function (renew) { renew(); });
    }
    choice.addEventListener('change', function () { keep(choice.value); choose(); });
    if (choice.value === kept()) { choice.checked = true; choose(); }
  });
})();
