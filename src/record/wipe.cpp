#include "record/wipe.hpp"

#include "report/page.hpp"

namespace evenbevel {
namespace {

std::string number(double value) {
  std::string text = std::to_string(value);
  text.erase(text.find_last_not_of('0') + 1);
  if (text.ends_with('.')) text.pop_back();
  return text;
}

std::string shot_html(const Shot& shot) {
  const auto* bytes = reinterpret_cast<const uchar*>(shot.picture.jpeg.data());
  return "<figure class=\"shot\">\n<figcaption>" + escaped(shot.title) +
         "</figcaption>\n<img alt=\"" + escaped(shot.alt) + "\" data-title=\"" +
         escaped(shot.title) + "\" data-from=\"" + number(shot.picture.from_mm) + "\" data-to=\"" +
         number(shot.picture.to_mm) + "\" data-top=\"" + number(shot.picture.top_mm) +
         "\" data-bottom=\"" + number(shot.picture.bottom_mm) + "\" data-ratio=\"" +
         number(shot.picture.ratio) + "\" src=\"data:image/jpeg;base64," +
         base64({bytes, shot.picture.jpeg.size()}) + "\">\n</figure>\n";
}

std::string choice(const std::string& label, const char* style, const std::vector<Shot>& shots,
                   std::size_t chosen) {
  std::string html = "<label>" + label + " <select class=\"" + style + "\" autocomplete=\"off\">\n";
  for (std::size_t i = 0; i < shots.size(); ++i) {
    html += "<option value=\"" + std::to_string(i) + "\"" + (i == chosen ? " selected" : "") + ">" +
            escaped(shots[i].title) + "</option>\n";
  }
  return html + "</select></label>\n";
}

std::string slider(const std::string& name, const std::vector<Shot>& shots) {
  if (shots.size() < 2) return "";
  return "<div class=\"over\">\n<div class=\"choices\">" +
         choice("Left of the border", "before", shots, 0) +
         choice("Right of it", "after", shots, shots.size() - 1) +
         "</div>\n<div class=\"frame\"><div class=\"under\"><img alt=\"\"></div><div "
         "class=\"top\"><img alt=\"\"></div><div class=\"border\"></div></div>\n<input "
         "class=\"border-at\" type=\"range\" min=\"0\" max=\"100\" value=\"50\" "
         "autocomplete=\"off\" aria-label=\"Border between the two pictures: " +
         escaped(name) + "\">\n</div>\n";
}

}  // namespace

std::string wipe_html(const std::string& name, const std::vector<Shot>& shots) {
  if (shots.empty()) return "";
  std::string pictures;
  for (const Shot& shot : shots) pictures += shot_html(shot);
  const std::string& words = shots.front().picture.words;
  const std::string note = words.empty() ? "" : "<p class=\"quiet\">" + escaped(words) + "</p>\n";
  return "<div class=\"wipe\">\n<h3>" + escaped(name) + "</h3>\n" + slider(name, shots) +
         "<div class=\"shots\">\n" + pictures + "</div>\n" + note + "</div>\n";
}

std::string wipe_style() {
  return R"(.shot { margin: .6rem 0; } .shot img { display: block; width: 100%; height: auto; border: 1px solid var(--rule); }
.over { display: none; } .js .over { display: block; margin-bottom: 1rem; }
.choices { display: flex; flex-wrap: wrap; gap: .3rem 1.5rem; }
.choices label { display: inline-flex; align-items: center; gap: .5rem; min-height: 2.75rem; }
.choices select { font: inherit; min-height: 2.75rem; max-width: 14rem; color: var(--ink); background: var(--pale);
  border: 1px solid var(--quiet); }
.frame { position: relative; overflow: hidden; background: var(--pale); border: 1px solid var(--rule);
  touch-action: pan-y; cursor: ew-resize; }
.frame .under, .frame .top { position: absolute; inset: 0; } .frame .top { background: var(--pale); }
.frame img { position: absolute; display: block; pointer-events: none; user-select: none; }
.frame .border { position: absolute; top: 0; bottom: 0; width: 4px; margin-left: -2px; background: #fff;
  outline: 1px solid #000; pointer-events: none; }
.border-at { display: block; width: 100%; height: 2.75rem; margin: 0; accent-color: var(--one); }
svg .dot.one { fill: var(--one); } svg .dot.two { fill: var(--two); } svg .dot.three { fill: var(--middle); }
svg .curve.three { stroke-dasharray: 3 7; } svg .band.three { fill: var(--middle); fill-opacity: .3; stroke: none; } svg .bar { stroke-width: 3; stroke-dasharray: none; }
.note { white-space: pre-wrap; }
@media print { .over { display: none !important; } .shots { columns: 2; } .shot { break-inside: avoid; } }
)";
}

std::string wipe_script() {
  return R"((function () {
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
      frame.style.aspectRatio = String(a.dataset.ratio * (box.right - box.left) / width(a) *
          height(a) / (box.bottom - box.top));
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
})();)";
}

}  // namespace evenbevel
