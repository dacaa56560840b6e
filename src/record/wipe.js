(function () {
  function each(list, act) { Array.prototype.forEach.call(list, act); }
  each(document.querySelectorAll('.wipe'), function (wipe) {
    var frame = wipe.querySelector('.frame');
    if (!frame) return;
    var shots = wipe.querySelectorAll('.shot img'), at = wipe.querySelector('.border-at');
    var before = wipe.querySelector('.before'), after = wipe.querySelector('.after');
    var under = frame.querySelector('.under img'), over = frame.querySelector('.top img');
    var top = frame.querySelector('.top'), border = frame.querySelector('.border');
    function width(shot) { return shot.dataset.to - shot.dataset.from; }
    function height(shot) { return shot.dataset.bottom - shot.dataset.top; }
    function both(a, b) {
      return {left: Math.min(a.dataset.from, b.dataset.from), right: Math.max(a.dataset.to, b.dataset.to),
          top: Math.min(a.dataset.top, b.dataset.top), bottom: Math.max(a.dataset.bottom, b.dataset.bottom)};
    }
    function place(img, shot, box) {
      var wide = box.right - box.left, high = box.bottom - box.top;
      img.src = shot.src;
      img.alt = shot.alt;
      img.style.left = 100 * (shot.dataset.from - box.left) / wide + '%';
      img.style.width = 100 * width(shot) / wide + '%';
      img.style.top = 100 * (shot.dataset.top - box.top) / high + '%';
      img.style.height = 100 * height(shot) / high + '%';
    }
    function cut() {
      top.style.clipPath = 'inset(0 0 0 ' + at.value + '%)';
      border.style.left = at.value + '%';
      at.setAttribute('aria-valuetext', at.value + ' % ' + shots[before.value].dataset.title +
          ', the rest ' + shots[after.value].dataset.title);
    }
    function show() {
      var a = shots[before.value], b = shots[after.value], box = both(a, b);
      place(under, a, box);
      place(over, b, box);
      var ratio = a.dataset.ratio * (box.right - box.left) / width(a) *
          height(a) / (box.bottom - box.top);
      frame.style.aspectRatio = String(ratio);
      frame.style.maxWidth = 36 * ratio + 'rem';  // a section is taller than wide
      cut();
    }
    function move(event) {
      if (event.type === 'pointermove' && !event.buttons) return;
      var box = frame.getBoundingClientRect();
      at.value = Math.round(100 * (event.clientX - box.left) / box.width);
      cut();
    }
    frame.addEventListener('pointerdown', move);
    frame.addEventListener('pointermove', move);
    at.addEventListener('input', cut);
    before.addEventListener('change', show);
    after.addEventListener('change', show);
    show();
  });
})();
