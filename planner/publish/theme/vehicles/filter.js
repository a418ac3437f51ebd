// Narrows the list of classes as squares are set and words are typed, and keeps what is chosen in the address. Without it
// the styles filter by the squares alone. Classic script without requests, so that it also runs in pages opened from a
// folder.
(function () {
  "use strict";

  /** @typedef {{ element: HTMLElement, marks: string[], words: string[], shown: boolean }} Row */
  /** @typedef {{ asTyped: string, plain: string }} Word */
  /** @typedef {{ head: HTMLElement | null, rows: Row[] }} Group */

  // A filter as the address names it, and the name of its squares.
  /** @type {[string, string][]} */
  var FILTERS = [["port", "p"], ["body", "b"], ["built", "y"], ["battery", "k"]];
  var FIND = "find";
  var ANY = "-any";
  var TOLD = 40; // letters of an unknown value that are told
  var PLURAL = 4; // letters from which a last s may be one
  var list = /** @type {HTMLElement} */ (document.querySelector(".flt"));
  var field = /** @type {HTMLInputElement} */ (document.getElementById("list-find"));
  var news = /** @type {HTMLElement} */ (document.getElementById("list-told"));
  var byHand = /** @type {HTMLElement} */ (document.getElementById("list-link"));
  var table = /** @type {HTMLElement} */ (list.querySelector(".tw"));
  var groups = grouped();
  var rows = groups.reduce(function (all, group) {
    return all.concat(group.rows);
  }, /** @type {Row[]} */ ([]));

  /**
   * A text cut at gaps and at the signs that stand for one.
   * @param {string} text
   * @returns {string[]}
   */
  function runs(text) {
    return text.split(/[\s,;/+&]+/);
  }

  /**
   * The letters and figures of a run, apart, small and without accents: `J1772` is j and 1772, `pick-up` is pick and up.
   * @param {string} run
   * @returns {string[]}
   */
  function parts(run) {
    var plain = run.normalize("NFKD").replace(/\p{M}/gu, "").toLowerCase();
    return plain.match(/\p{L}+|\p{N}+/gu) || [];
  }

  /**
   * What was typed, one word a run, its joints closed: `J-1772` is j1772.
   * @returns {Word[]}
   */
  function typed() {
    return runs(field.value).map(function (run) {
      return { asTyped: run, plain: parts(run).join("") };
    }).filter(function (word) {
      return word.plain;
    });
  }

  /**
   * The words that a row is found by: what it shows and what it carries, whole and in parts.
   * @param {HTMLElement} element
   * @returns {string[]}
   */
  function wordsOf(element) {
    var texts = Array.from(element.children).map(function (cell) {
      return cell.textContent || "";
    });
    var found = new Set();
    runs(texts.concat(element.dataset.w || "").join(" ")).forEach(function (run) {
      var each = parts(run);
      each.concat(each.join("")).forEach(function (word) {
        found.add(word);
      });
    });
    return Array.from(found);
  }

  /**
   * The rows under the head of their body.
   * @returns {Group[]}
   */
  function grouped() {
    /** @type {Group[]} */
    var found = [];
    var all = /** @type {NodeListOf<HTMLElement>} */ (list.querySelectorAll("tbody tr"));
    all.forEach(function (element) {
      var isHead = !element.querySelector("th > a");
      if (isHead || !found.length) found.push({ head: isHead ? element : null, rows: [] });
      if (isHead) return;
      var marks = (element.dataset.f || "").split(" ");
      found[found.length - 1].rows.push({ element: element, marks: marks, words: wordsOf(element), shown: true });
    });
    return found;
  }

  /**
   * The squares of a filter.
   * @param {string} name
   * @returns {HTMLInputElement[]}
   */
  function squares(name) {
    return Array.from(list.querySelectorAll('input[name="' + name + '"]'));
  }

  /**
   * The key of the chosen square of a filter, nothing for `Any`.
   * @param {string} name
   * @returns {string}
   */
  function chosen(name) {
    var square = squares(name).find(function (one) {
      return one.checked;
    });
    var key = square ? square.id.slice(name.length + 1) : ANY;
    return key === ANY ? "" : key;
  }

  /**
   * Whether a row has a word that begins as typed; a plural finds its singular.
   * @param {Row} row
   * @param {Word} word
   * @returns {boolean}
   */
  function has(row, word) {
    var plain = word.plain;
    var single = plain.length >= PLURAL && plain.slice(-1) === "s" ? plain.slice(0, -1) : plain;
    return row.words.some(function (one) {
      return one.indexOf(plain) === 0 || one === single;
    });
  }

  /**
   * Shows the rows that fit every square and every word, and the head of a body only above one of them.
   * @param {string} before - what is told before the count
   * @returns {void}
   */
  function show(before) {
    var words = typed();
    /** @type {string[]} */
    var marks = [];
    FILTERS.forEach(function (filter) {
      var key = chosen(filter[1]);
      if (key) marks.push(filter[1] + "-" + key);
    });
    groups.forEach(function (group) {
      group.rows.forEach(function (row) {
        row.shown =
          marks.every(function (mark) {
            return row.marks.indexOf(mark) >= 0;
          }) &&
          words.every(function (word) {
            return has(row, word);
          });
        row.element.hidden = !row.shown;
      });
      if (group.head) group.head.hidden = !group.rows.some(isShown);
    });
    table.hidden = !rows.some(isShown); // heads of columns above nothing
    byHand.hidden = true;
    tell(before, words, marks.length > 0);
  }

  /**
   * @param {Row} row
   * @returns {boolean}
   */
  function isShown(row) {
    return row.shown;
  }

  /**
   * Tells how many rows are shown; where none is, what to do about it. All of it is text: words come from the address.
   * @param {string} before
   * @param {Word[]} words
   * @param {boolean} squared - whether any square but `Any` is chosen
   * @returns {void}
   */
  function tell(before, words, squared) {
    var count = rows.filter(isShown).length;
    if (count || !rows.length) {
      news.replaceChildren(before + count + " of " + rows.length + " shown.");
      return;
    }
    var unknown = words.filter(function (word) {
      return !rows.some(function (row) {
        return has(row, word);
      });
    });
    var advice = "Set a square back to Any";
    if (unknown.length) advice = "No class has " + unknown.map(asTyped).join(", ") + ": leave it out";
    else if (words.length) advice = squared ? "Leave out a word, set a square back to Any" : "Leave out a word";
    var way = document.createElement("a");
    way.href = "../ports/index.html";
    way.textContent = "go by the port";
    news.replaceChildren(before + "Nothing found, 0 of " + rows.length + ". " + advice + ", or ", way, ".");
  }

  /**
   * @param {string} text
   * @returns {string}
   */
  function quoted(text) {
    return "\u201c" + (text.length > TOLD ? text.slice(0, TOLD) + "..." : text) + "\u201d";
  }

  /**
   * @param {Word} word
   * @returns {string}
   */
  function asTyped(word) {
    return quoted(word.asTyped);
  }

  /**
   * The address of the list as it is shown. What else the address asks stays; the place on the page goes.
   * @returns {string}
   */
  function address() {
    var url = new URL(location.href);
    url.hash = "";
    FILTERS.forEach(function (filter) {
      var key = chosen(filter[1]);
      if (key) url.searchParams.set(filter[0], key);
      else url.searchParams.delete(filter[0]);
    });
    var words = field.value.trim();
    if (words) url.searchParams.set(FIND, words);
    else url.searchParams.delete(FIND);
    return url.href;
  }

  /**
   * Keeps what is chosen in the address.
   * @returns {void}
   */
  function keep() {
    try {
      history.replaceState(null, "", address());
    } catch (error) {
      // Some browsers allow no more than so many a minute; the next change writes it.
    }
  }

  /**
   * What the address asks for: its query, or what stands behind its `#` where that holds a value.
   * @returns {URLSearchParams}
   */
  function asked() {
    var found = new URLSearchParams(location.search);
    if (location.hash.indexOf("=") > 0) {
      new URLSearchParams(location.hash.slice(1)).forEach(function (value, name) {
        found.set(name, value);
      });
    }
    return found;
  }

  /**
   * Sets squares and words from the address. A value that is no square's is left out, and told.
   * @returns {void}
   */
  function read() {
    var given = asked();
    /** @type {string[]} */
    var left = [];
    FILTERS.forEach(function (filter) {
      var value = (given.get(filter[0]) || "").trim();
      var all = squares(filter[1]);
      var wanted = all.find(function (square) {
        return square.id === filter[1] + "-" + value.toLowerCase();
      });
      if (value && !wanted) left.push(filter[0] + " " + quoted(value));
      var square = wanted || all[0]; // the first one is `Any`
      square.checked = true;
      var folded = square.closest("details");
      if (folded && wanted) folded.open = true;
    });
    field.value = (given.get(FIND) || "").slice(0, field.maxLength);
    show(left.length ? "Not on this list, so left out: " + left.join(", ") + ". " : "");
  }

  /**
   * Shows the list anew after a change by hand, and keeps it in the address.
   * @returns {void}
   */
  function changed() {
    show("");
    keep();
  }

  /**
   * Puts the address into the clipboard; where that is not allowed, into a field to copy it from.
   * @returns {void}
   */
  function copy() {
    var text = address();
    var own = location.protocol === "file:" ? " It opens on this device alone." : "";
    if (!navigator.clipboard) {
      offer(text);
      return;
    }
    navigator.clipboard.writeText(text).then(
      function () {
        byHand.hidden = true;
        news.replaceChildren("Link copied." + own);
      },
      function () {
        offer(text);
      }
    );
  }

  /**
   * @param {string} text
   * @returns {void}
   */
  function offer(text) {
    var holder = /** @type {HTMLInputElement} */ (byHand.querySelector("input"));
    holder.value = text;
    byHand.hidden = false;
    holder.focus();
    holder.select();
    news.replaceChildren("Copy the link from its field.");
  }

  /**
   * @param {string} id
   * @param {() => void} act
   * @returns {void}
   */
  function pressed(id, act) {
    /** @type {HTMLElement} */ (document.getElementById(id)).addEventListener("click", act);
  }

  field.addEventListener("input", changed);
  field.addEventListener("keydown", function (event) {
    if (event.key !== "Enter" || event.isComposing) return;
    var first = rows.find(isShown);
    if (first) /** @type {HTMLElement} */ (first.element.querySelector("a")).focus();
  });
  FILTERS.forEach(function (filter) {
    squares(filter[1]).forEach(function (square) {
      square.addEventListener("change", changed);
    });
  });
  pressed("list-all", function () {
    field.value = "";
    FILTERS.forEach(function (filter) {
      squares(filter[1])[0].checked = true;
    });
    changed();
  });
  pressed("list-copy", copy);
  addEventListener("popstate", read);
  addEventListener("hashchange", read);

  // From here on the script alone hides rows and counts them.
  list.classList.remove("flt");
  /** @type {HTMLElement} */ (list.querySelector(".shown")).hidden = true;
  ["list-go", "list-tools"].forEach(function (id) {
    /** @type {HTMLElement} */ (document.getElementById(id)).hidden = false;
  });
  read();
})();
