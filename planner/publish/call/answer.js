// The answer as HTML: what a plan comes to, drawn and in words. Pure: it is given a plan and returns text; every word that
// comes from data or from the address is escaped on its way. Nothing here decides: it shows what `sheet.js` looked up.

(function () {
  "use strict";

  var look = rangeferry.lookup;
  var sheet = rangeferry.sheet;
  /** @type {function(any): string} */
  var esc = rangeferry.drawings.escape;
  var MILE_STEP = 5;
  var SHAPES = /** @type {Object<string, string>} */ ({
    serve: "serve",
    serve_with_changes: "after",
    ask_first: "ask",
    try: "try",
    cannot_serve: "no",
    stop: "no",
    change: "change",
    note: "note",
  });
  var LOOKS = /** @type {Object<string, string>} */ ({ cannot_serve: " no", ask_first: " open", try: " open" });
  var LEVELS = /** @type {Object<string, string>} */ ({ stop: "Stop", change: "Change", note: "Note" });
  // Where the method page says how a figure comes about.
  var METHOD = {
    chain: "2-what-each-link-allows-chain",
    volts: "3-volts-and-power-charge-power",
    table: "4-the-charge-table-and-the-cold-start-battery-pack-charge",
    road: "5-road-and-need-roadload-cabin-journey-trip",
    sure: "5a-how-sure-samples-spread",
    fuel: "6-fuel-and-time-on-site",
    place: "6b-place-and-state-place-condition-reach",
    paths: "2a-paths-mating-leads",
    page: "7a-what-the-call-page-looks-up",
  };
  var DANGER = ["danger_not_known", "traffic_not_known"];
  var SERVES = ["serve", "serve_with_changes", "try"];
  var SECOND = ["cold_vehicle", "fuel_first", "tow_quicker"]; // thoughts beside a yes, not what it hangs on
  // Never a yes: nothing to act on is shown with it. Over lines that are conditions, it is read on into them.
  var POSSIBLE = "The plug fits. First ask:";
  var POSSIBLE_IF = "We can plug in, if:";
  // Of several classes, where nobody has asked how far: no caller is to take it for a yes to the way.
  var POSSIBLE_NOW = "We can plug in. Now ask how far:";
  var NEED_FIRST = "Where must it get to, over what climb?";
  var DASH_FIRST = "What does the dash say?";
  var AIR_FIRST = "How cold is it?";
  var CLIMB_FIRST = "What climb on the way?";
  var HOURS_WRITTEN = 10; // boxes on a printed sheet at most, where plugs are felt once an hour
  var ALL_CLEAR =
    '<div class="o"><button type="button" class="sq" data-set="open=clear" data-also="people=away">Nothing and nobody within 20 ft</button></div>';
  // What the rules ask of danger and place, as lines that are heard and touched one by one; none may stand for another.
  // What is not so has squares of its own below them.
  /** @type {Array<[string, string, string]>} */
  var HEARD = [
    ["No crash, water, smoke, smell, sound, or warning on the dash", "danger", "none"],
    ["Well out of moving traffic, room to work away from it", "traffic", "yes"],
    ["No door, window or vent within 20 ft of our engine", "open", "clear"],
    ["Nobody in a vehicle, caller included, within 20 ft of our engine", "people", "away"],
  ];
  var NEAR = /,? within 20 ft of our engine$/;
  // What is not so, where the square of the form says it for its own row alone.
  var ILL = /** @type {Object<string, string>} */ ({
    traffic: "Moving traffic beside it",
    open: "Door, window or vent nearer",
    people: "Somebody in a vehicle nearer",
  });
  var WELL = /^(none|yes|clear|away)$/;
  var BRIEF_MOST = 8; // cases; of more a question is worth more than a sum, own-judgement
  var IN_THE_OPEN = ["open_lot", "driveway", "street"]; // on a shoulder or a deck there is more to it
  var TOLD = ["traffic", "danger", "at", "open", "people", "allowed", "key", "inside", "v12"];
  var TOLD_TOO = ["quiet", "body", "built", "battery", "door"]; // on a screen, where there is room
  var KEEP_WARM = "<p><b>Ask where they keep warm</b>: it is a long wait without the cabin's heat.</p>";
  var SAY = '<p class="np">Say:</p>';
  var LONG_STAY_MIN = 240; // from here on whoever runs the place is asked, own-judgement
  var IN_PLACE = ["allowed"]; // a yes or a no, answered where it is asked
  var OFF_PAPER = ["allowed", "own_tank", "own_charge", "height"]; // a sheet tells them further down, with all else that was taken for granted
  var MILD_F = 50; // below it a drive without heat is cold, own-judgement
  var LONGER_MIN = [60, 90, 120, 180, 240, 360];
  var SEND =
    '<p class="acts np snd"><button type="button" id="send">Send to the crew</button><button type="button" class="new">New call</button></p>';
  var PARTS = [
    ["park", "park"],
    ["make_ready", "make ready"],
    ["warm_up", "warm up"],
    ["handshake", "hand-shake"],
    ["cold", "cold start"],
    ["charging", "charging"],
    ["refuel", "refuel"],
    ["cool_down", "cool down"],
    ["pack_up", "pack up"],
  ];

  /**
   * The squares of a name of the form, value and finished HTML, and what they are called there.
   * @typedef {function(string): {label: string, squares: Array<[string, string]>}} Choices
   */

  /**
   * What an answer is shown with.
   * @typedef {{
   *   call: Call, plan: any, words: any, rig: any, class_name: string, drawn: Object<string, string>,
   *   given: Object<string, string>,
   *   choices: Choices
   * }} Shown
   */

  /**
   * What nobody has asked: its name in the form, the question, and what is taken for it.
   * @typedef {[string, string, string]} Guess
   */

  /**
   * The parts of an answer in the order in which they stand: what decides at once, an element each; what a stay gives and
   * what is said; what is read after it.
   * @typedef {{top: string[], stay: function(): string, rest: function(): string}} Whole
   */

  /** @returns {string} */
  function none() {
    return "";
  }

  /** @param {string} name @returns {string} */
  function icon(name) {
    return '<svg class="ic" aria-hidden="true" focusable="false"><use href="#' + SHAPES[name] + '"/></svg>';
  }

  /** @param {any} figure @param {string} [style] @returns {string} */
  function f(figure, style) {
    return '<b class="f' + (style ? " " + style : "") + '">' + esc(figure) + "</b>";
  }

  /** @param {string} href @param {string} words @returns {string} */
  function link(href, words) {
    return '<a href="' + esc(href) + '">' + esc(words) + "</a>";
  }

  /**
   * A source as a link to where it is told; several are told one by one.
   * @param {any} words
   * @param {string} text
   * @returns {string}
   */
  function source(words, text) {
    return text
      .split("; ")
      .map(function (one) {
        var id = one.split(",")[0];
        if (one === "own-judgement") return link("sources/index.html", "our judgement");
        return words.sources.indexOf(id) >= 0 ? link("sources/index.html#source--" + id, one) : esc(one);
      })
      .join("; ");
  }

  /** @param {keyof METHOD} part @returns {string} */
  function method(part) {
    return link("method/index.html#" + METHOD[part], "how it is reckoned");
  }

  /**
   * The answer to "why?" beside a figure.
   * @param {string} of what the figure is, for whoever hears the page
   * @param {string} html
   * @returns {string}
   */
  function why(of, html) {
    return (
      '<details class="y"><summary>why?<span class="vh"> ' +
      esc(of) +
      "</span></summary><div>" +
      html +
      "</div></details>"
    );
  }

  /**
   * A part of the answer under its own head.
   * @param {string} id
   * @param {string} title
   * @param {string} html
   * @param {string} [style]
   * @returns {string}
   */
  function part(id, title, html, style) {
    return (
      '<section id="' +
      id +
      '"' +
      (style ? ' class="' + style + '"' : "") +
      ' aria-labelledby="' +
      id +
      '-head"><h2 id="' +
      id +
      '-head">' +
      esc(title) +
      "</h2>" +
      html +
      "</section>"
    );
  }

  /** @param {string[]} items finished HTML @returns {string} */
  function bullets(items) {
    return items.length
      ? "<ul>" +
          items
            .map(function (item) {
              return "<li>" + item + "</li>";
            })
            .join("") +
          "</ul>"
      : "";
  }

  /**
   * A ruled table; cells are finished HTML, those of figures stand to the right.
   * @param {string} caption
   * @param {Array<[string, boolean]>} heads
   * @param {string[][]} rows
   * @param {number} [chosen]
   * @param {boolean} [laid_out] whether its rows are no table to the eye
   * @returns {string}
   */
  function table(caption, heads, rows, chosen, laid_out) {
    // Rows that are laid out as blocks are still rows for whoever hears them.
    /** @param {string} role @returns {string} */
    function as(role) {
      return laid_out ? ' role="' + role + '"' : "";
    }
    /** @param {number} at @returns {string} */
    function style(at) {
      return heads[at][1] ? ' class="r"' : "";
    }
    return (
      '<div class="tw"><table class="t"' +
      as("table") +
      '><caption class="vh">' +
      esc(caption) +
      "</caption><thead" +
      as("rowgroup") +
      "><tr" +
      as("row") +
      ">" +
      heads
        .map(function (head, at) {
          return '<th scope="col"' + as("columnheader") + style(at) + ">" + head[0] + "</th>";
        })
        .join("") +
      "</tr></thead><tbody" +
      as("rowgroup") +
      ">" +
      rows
        .map(function (row, number) {
          return (
            "<tr" +
            as("row") +
            (number === chosen ? ' class="on">' : ">") +
            row
              .map(function (cell, at) {
                return at
                  ? "<td" + as("cell") + style(at) + ">" + cell + "</td>"
                  : '<th scope="row"' + as("rowheader") + style(at) + ">" + cell + "</th>";
              })
              .join("") +
            "</tr>"
          );
        })
        .join("") +
      "</tbody></table></div>"
    );
  }

  // -------------------------------------------------------------------------------------------------------- minutes

  /**
   * Minutes at most, as they are shown: never less than they are.
   * @param {number} minutes
   * @returns {number}
   */
  function atMost(minutes) {
    return sheet.shown(minutes, Math.ceil);
  }

  /**
   * Minutes at least, as they are shown: never more than they are.
   * @param {number} minutes
   * @returns {number}
   */
  function atLeast(minutes) {
    return sheet.shown(minutes, Math.floor);
  }

  /** @param {number} minutes @returns {string} */
  function inHours(minutes) {
    var most = look.words().most_shown_min;
    if (minutes > most) return "more than " + most / 60 + " h";
    if (minutes < 120) return minutes + " min";
    var rest = minutes % 60;
    return Math.floor(minutes / 60) + " h" + (rest ? " " + rest + " min" : "");
  }

  /**
   * Minutes in the slab of figures, in hours where there are many.
   * @param {number} minutes
   * @param {string} style
   * @returns {string}
   */
  function big(minutes, style) {
    var most = look.words().most_shown_min;
    if (minutes > most) return "more than " + f(most / 60, style) + " h";
    if (minutes < 120) return f(minutes, style) + " min";
    var rest = minutes % 60;
    return f(Math.floor(minutes / 60), style) + " h" + (rest ? " " + f(rest, style) + " min" : "");
  }

  /** What is to be allowed on site, as shown; null where fewer than nine in ten get there. @param {any} plan @returns {number|null} */
  function allowed(plan) {
    if (plan.allow === null || plan.allow === undefined) return null;
    return atMost(Math.max(plan.allow, plan.minutes_on_site));
  }

  // ----------------------------------------------------------------------------------------------------- the verdict

  /**
   * Under which name of the form an open question is answered.
   * @type {Object<string, string[]>}
   */
  var ANSWERED = {
    danger_not_known: ["danger"],
    traffic_not_known: ["traffic"],
    place_not_known: ["at"],
    clearance_not_known: ["open", "people"],
    permission_not_known: ["allowed"],
    quiet_hours: ["allowed"],
    key_away: ["key"],
    which_battery: ["v12"],
    port_side_not_known: ["reach"],
    which_port: ["port"],
    ask_fuel_first: ["tank"],
    charger_not_known: ["fits"],
    need_not_sure: ["speed", "heat"],
    stay_too_short: ["minutes"],
    shoulder_time_cap: ["at"],
    ask_port: ["port"],
    ask_body: ["body"],
    ask_fuel_door: ["door"],
    ask_built: ["built"],
    ask_battery: ["battery"],
  };

  /**
   * The squares that answer a question, as buttons; they set the form.
   * @param {string[]} fields
   * @param {Choices} choices
   * @param {string[]} [only]
   * @param {string} [pass] the name of a question that may be passed over
   * @returns {string}
   */
  function answers(fields, choices, only, pass) {
    return (
      (fields.join() === "open,people" ? ALL_CLEAR : "") +
      fields
        .map(function (field) {
          var row = choices(field),
            offered = row.squares.filter(function (choice) {
              return choice[0] && (!only || only.indexOf(choice[0]) >= 0);
            });
          if (!offered.length)
            return (
              '<p><a class="way" href="#' + esc(field) + '" data-go="' + esc(field) + '">Answer it in the form</a></p>'
            );
          return (
            (fields.length > 1 ? '<p class="cl">' + esc(row.label) + "</p>" : "") +
            '<div class="o">' +
            offered
              .map(function (choice) {
                return (
                  '<button type="button" class="sq" data-set="' +
                  esc(field + "=" + choice[0]) +
                  '">' +
                  choice[1] +
                  "</button>"
                );
              })
              .join("") +
            (pass ? '<button type="button" class="sq" data-pass="' + esc(pass) + '">Nobody can tell</button>' : "") +
            "</div>"
          );
        })
        .join("")
    );
  }

  /**
   * The block that says how it stands: shape, word, sentence; inverted where it is a no.
   * @param {string} verdict
   * @param {string} head
   * @param {string} html
   * @returns {string}
   */
  function block(verdict, head, html) {
    return (
      '<div class="vd' +
      (LOOKS[verdict] || "") +
      '">' +
      icon(verdict) +
      '<h2 id="verdict">' +
      esc(head) +
      "</h2><div>" +
      html +
      "</div></div>"
    );
  }

  /**
   * @param {any} words
   * @param {any[]} reasons
   * @param {number} from
   * @returns {string}
   */
  function reasonsOf(words, reasons, from) {
    return reasons
      .slice(from)
      .map(function (reason) {
        return esc(reason.text) + ' <span class="n">' + source(words, reason.source) + "</span>";
      })
      .map(function (html) {
        return "<p>" + html + "</p>";
      })
      .join("");
  }

  /** Whether a reason is what is asked or forbidden, and nothing to set or turn. @param {any} reason @param {number} at @returns {boolean} */
  function isNothingToDo(reason, at) {
    return (
      at === 0 ||
      look.words().rules.some(function (/** @type {any} */ one) {
        return one.code === reason.code;
      })
    );
  }

  /** Who is called before anything else, where it says so. @param {Array<{text: string}>} reasons @returns {string} */
  function call911(reasons) {
    return calls911(reasons) ? '<p class="lead"><b>Call 911.</b></p>' : "";
  }

  /** @param {Array<{text: string}>} reasons @returns {boolean} */
  function calls911(reasons) {
    return reasons.some(function (one) {
      return /\b911\b/.test(one.text);
    });
  }

  /**
   * The miles that were asked about and are not made with what is asked for now: a percent or a stay is no way home.
   * @param {Shown} shown
   * @returns {string}
   */
  function missed(shown) {
    var short = sheet.notReached(shown.plan);
    if (!short.length) return "";
    var plan = shown.plan;
    return (
      '<p class="lead"><b>It does not make the ' +
      short
        .map(function (/** @type {[string, number]} */ goal) {
          return esc(goal[1] + " mi to " + (goal[0] === "home" ? "where it must go" : goal[0]));
        })
        .join(", nor the ") +
      ": " +
      esc(plan.target + " % is good for " + sheet.milesAt(plan.found, plan.target)) +
      " mi in nine of ten cases. Tell them, and offer a tow.</b></p>"
    );
  }

  /** A tow, where it may be the quicker help: beside the yes. @param {any} plan @returns {string} */
  function towOf(plan) {
    return plan.reasons
      .filter(isTow)
      .map(function (/** @type {any} */ one) {
        return "<p><b>" + esc(one.text) + "</b></p>";
      })
      .join("");
  }

  /** @param {any} reason @returns {boolean} */
  function isTow(reason) {
    return reason.code === "tow_quicker";
  }

  /** @param {Shown} shown @returns {string} */
  function verdictOf(shown) {
    var plan = shown.plan,
      words = shown.words;
    var who =
      "<p><b>" +
      esc(shown.class_name) +
      "</b> with <b>" +
      esc(shown.rig.name) +
      '</b> <span class="n">' +
      asked(shown) +
      "</span></p>";
    if (isGated(plan))
      return block(
        "ask_first",
        plan.verdict === "try" ? words.verdicts.ask_first : possible(shown.call),
        dangerFirst(shown.call, words, shown.choices) +
          who +
          "<p>If it is safe: <b>" +
          esc(words.verdicts[plan.verdict]) +
          "</b>.</p>" +
          assumed(shown) +
          missed(shown)
      );
    if (plan.verdict !== "ask_first" && plan.verdict !== "cannot_serve")
      who = inAWord(shown) + towOf(plan) + missed(shown) + who + assumed(shown);
    if (plan.verdict === "cannot_serve") who = call911(plan.reasons) + who;
    // A yes that a tow may beat says so in its head: it is the news on a cold day.
    var head = words.verdicts[plan.verdict] + (plan.reasons.some(isTow) ? ". A tow may be quicker" : "");
    if (plan.verdict === "serve") return block(plan.verdict, head, who);
    if (plan.verdict === "serve_with_changes") {
      return block(
        plan.verdict,
        head,
        who +
          "<ol>" +
          plan.reasons
            .filter(isChange)
            .map(function (/** @type {any} */ reason) {
              return "<li>" + esc(reason.text) + ' <span class="n">' + source(words, reason.source) + "</span></li>";
            })
            .join("") +
          "</ol>"
      );
    }
    if (plan.verdict === "ask_first") {
      var fields = ANSWERED[plan.ask.code] || ANSWERED[plan.reasons[0].code] || [];
      var lines = heard(shown.call, shown.choices),
        first = dangerFirst(shown.call, words, shown.choices);
      // What stands among the lines, or among the questions about danger, is not asked twice.
      var covered = first && (lines ? isOfPlace(fields) : isDanger(plan.ask));
      return block(
        plan.verdict,
        headOfAsking(plan, words, shown.call),
        first +
          (covered
            ? ""
            : '<p class="lead"><b>' +
              esc(plan.ask.question) +
              "</b></p>" +
              (plan.reasons[0].code === "source_short"
                ? asFar(plan)
                : plan.ask.code === "stay_too_short"
                  ? longer(shown)
                  : (plan.ask.code === "need_not_sure" ? milder(plan, "") : "") + answers(fields, shown.choices))) +
          who +
          reasonsOf(words, openDanger(shown.call).length ? plan.reasons.filter(isNothingToDo) : plan.reasons, 0)
      );
    }
    if (plan.verdict === "try") {
      var bring = plan.bring && plan.bring.length ? "<p><b>Bring</b> " + esc(plan.bring.join("; ")) + ".</p>" : "";
      return block(plan.verdict, words.verdicts["try"], who + bring + reasonsOf(words, plan.reasons.slice(0, 1), 0));
    }
    var told = who + reasonsOf(words, plan.reasons, 0);
    return block(plan.verdict, words.verdicts[plan.verdict], told + milder(plan, "Can they drive so?"));
  }

  /**
   * How long it takes, first of all: it is what was asked. Nothing where it hangs on what nobody has asked.
   * @param {Shown} shown
   * @returns {string}
   */
  function inAWord(shown) {
    var plan = shown.plan,
      allow = allowed(plan);
    if (!plan.parts || shown.call.need.kind === "usual" || shown.call.dash.kind === "unknown" || !shown.given.air)
      return "";
    var likely = about([plan.minutes_on_site, plan.minutes_on_site]);
    var told =
      likely.charAt(0).toUpperCase() +
      likely.slice(1) +
      ", " +
      (allow === null ? "open how long at most" : "allow " + inHours(allow)) +
      " from when we arrive, to " +
      plan.target +
      " % on the dash";
    return (
      '<div class="np">' + brief([told + "."]) + (sheet.isColdWait(shown.call, plan.parts) ? KEEP_WARM : "") + "</div>"
    );
  }

  /**
   * The call in a line: what the dash says, what it needs, the air, the height, the road.
   * @param {Shown} shown
   * @returns {string}
   */
  function asked(shown) {
    var start = shown.plan.start;
    return askedOf(shown.call, shown.given, shown.words, start.said === null ? start.percent + " %" : start.said);
  }

  /**
   * @param {Call} call
   * @param {Object<string, string>} given
   * @param {any} words
   * @param {string} dash in words
   * @returns {string} finished HTML
   */
  function askedOf(call, given, words, dash) {
    var need = call.need;
    var speed = words.speed_steps_mph[call.speed];
    var wants = /** @type {Object<string, string>} */ ({
      home: need.value + " mi",
      charger: need.value + " mi to a charger",
      to: need.value + " %",
      minutes: need.value + " min plugged in",
      usual: words.usual_stay_min + " min plugged in",
    })[need.kind];
    var parts = [
      esc("dash " + dash),
      esc("wants " + wants),
      unlessAsked("air", words.airs[call.ambient]),
      unlessAsked("height", feetOf(call.altitude)),
      speed === null ? "mixed road" : speed + " mph",
    ];
    if (call.climb_ft) parts.push("climbs " + call.climb_ft.toLocaleString("en-US") + " ft");
    if (!call.heat) parts.push("cabin off");
    /** What nobody has asked leads to where it is answered. @param {string} name @param {string} text @returns {string} */
    function unlessAsked(name, text) {
      return given[name]
        ? esc(text)
        : '<a href="#' + name + '" data-go="' + name + '">' + esc(text) + " (not asked)</a>";
    }
    return parts.join(", ");
  }

  /** What the dash shows, in words. @param {Call} call @returns {string} */
  function dashSaid(call) {
    var dash = call.dash;
    if (dash.kind === "unknown") return "not asked";
    if (dash.kind === "percent") return dash.value + " %";
    if (dash.kind === "miles") return dash.value + " mi";
    if (dash.kind === "bars") return dash.value + " of " + dash.of + " bars";
    return look.words().dash_words[dash.kind][3];
  }

  /**
   * The head over an open question: whether it can be charged is told where place or vehicle alone are to be asked about.
   * @param {any} plan
   * @param {any} words
   * @param {Call} call
   * @returns {string}
   */
  function headOfAsking(plan, words, call) {
    return plan.charges && !isDanger(plan.ask) ? possible(call) : words.verdicts.ask_first;
  }

  /** What stands over what is asked first, where the plug fits. @param {Call} call @returns {string} */
  function possible(call) {
    return isHeard(call) ? POSSIBLE_IF : POSSIBLE;
  }

  /** A head as it is said, without the lines below it. @param {string} head @returns {string} */
  function spoken(head) {
    return head.replace(/if:$/, "if all of this is so").replace(/[:.]$/, "");
  }

  /** Whether a danger was asked about, and nobody could tell. @param {any} ask @returns {boolean} */
  function isDanger(ask) {
    return DANGER.indexOf(ask.code) >= 0;
  }

  /** What of the danger nobody has asked yet. @param {Call} call @returns {string[]} */
  function openDanger(call) {
    var open = [];
    if (call.condition.danger === null) open.push("a crash, water, smoke or a smell, a battery warning");
    if (call.place.traffic === "") open.push("moving traffic");
    return open;
  }

  /** The same as it is said: what nobody could tell was asked. @param {Call} call @returns {string} */
  function notAsked(call) {
    return (call.condition.unknown ? "Not known: " : "Not asked: ") + openDanger(call).join("; ");
  }

  /**
   * Whether a plan serves of which nobody has asked about danger: nothing to act on is shown before.
   * @param {any} plan
   * @returns {boolean}
   */
  function isGated(plan) {
    return SERVES.indexOf(plan.verdict) >= 0 && openDanger(plan.found.call).length > 0;
  }

  /** The verdict as it may be shown. @param {any} plan @returns {string} */
  function shownAs(plan) {
    return isGated(plan) ? "ask_first" : plan.verdict;
  }

  /**
   * The questions about danger that are open, each with its squares.
   * @param {Call} call
   * @param {any} words
   * @param {Choices} choices
   * @returns {string}
   */
  function dangerFirst(call, words, choices) {
    var lines = heard(call, choices);
    if (lines) return lines;
    /** @param {string} code @param {string} field @returns {string} */
    function ask(code, field) {
      var rule = words.rules.filter(function (/** @type {any} */ one) {
        return one.code === code;
      })[0];
      return '<p class="lead"><b>' + esc(rule.question) + "</b></p>" + answers([field], choices);
    }
    return (
      (call.condition.danger === null ? ask("danger_not_known", "danger") : "") +
      (call.place.traffic === "" ? ask("traffic_not_known", "traffic") : "")
    );
  }

  /** What is known of danger and place, by the lines and the squares of the form. @param {Call} call @returns {Object<string, string>} */
  function saidOfPlace(call) {
    var place = call.place;
    return {
      danger: call.condition.unknown
        ? "unknown"
        : call.condition.danger === null
          ? ""
          : call.condition.danger[0] || "none",
      traffic: place.traffic,
      open: place.openings,
      people: place.people,
      at: place.kind,
    };
  }

  /**
   * Whether danger and place are asked as lines: of an engine, while something is open and all that is known is well.
   * @param {Call} call
   * @returns {boolean}
   */
  function isHeard(call) {
    var said = saidOfPlace(call);
    var open = false,
      ill = false;
    Object.keys(said).forEach(function (name) {
      if (!said[name]) open = true;
      else if (name === "at" ? IN_THE_OPEN.indexOf(said.at) < 0 : !WELL.test(said[name])) ill = true;
    });
    return look.rigs[call.rig].engine && open && !ill;
  }

  /**
   * What is asked of danger and place of an engine, as lines to touch one by one.
   * @param {Call} call
   * @param {Choices} choices
   * @returns {string}
   */
  function heard(call, choices) {
    if (!isHeard(call)) return "";
    var said = saidOfPlace(call);
    /** The lines of which the distance stands over them once, or does not. @param {boolean} near @returns {string} */
    function linesOf(near) {
      return HEARD.filter(function (line) {
        return NEAR.test(line[0]) === near;
      })
        .map(function (line) {
          var name = near ? ' aria-label="' + esc(line[0]) + '"' : "";
          return square(line[1], line[2], said[line[1]] === line[2], esc(line[0].replace(NEAR, "")), line[1], name);
        })
        .join("");
    }
    var places = choices("at")
      .squares.filter(function (choice) {
        return IN_THE_OPEN.indexOf(choice[0]) >= 0;
      })
      .map(function (choice) {
        return square("at", choice[0], said.at === choice[0], choice[1], choice[0]);
      });
    // What is not so, of every line: none goes while the lines are touched, so that nothing moves.
    var others = HEARD.map(function (line) {
      return line[1];
    })
      .concat("at")
      .map(function (name) {
        return choices(name)
          .squares.filter(function (choice) {
            return choice[0] && !WELL.test(choice[0]) && IN_THE_OPEN.indexOf(choice[0]) < 0;
          })
          .map(function (choice) {
            return (
              '<button type="button" class="sq" data-set="' +
              esc(name + "=" + choice[0]) +
              '">' +
              (ILL[name] || choice[1]) +
              "</button>"
            );
          })
          .join("");
      });
    var unheard = HEARD.filter(function (line) {
      return !said[line[1]];
    })
      .map(function (line) {
        return esc(line[0]);
      })
      .concat(said.at ? [] : "In the open, nothing over it");
    return (
      '<div class="np"><div class="o hear">' + // the head says to ask
      linesOf(false) +
      '</div><p class="cl">Within 20 ft of our engine:</p><div class="o hear">' +
      linesOf(true) +
      '</div><p class="cl">Nothing over it:</p><div class="o">' +
      places.join("") +
      '</div><p class="cl">Not so, or not sure:</p><div class="o">' +
      others.join("") +
      '</div></div><div class="po"><p><b>Not asked yet whether it is so:</b></p>' +
      bullets(unheard) +
      "</div>"
    );
  }

  /** Whether a question is of danger or place. @param {string[]} fields @returns {boolean} */
  function isOfPlace(fields) {
    return /^(danger|traffic|at|open,people)$/.test(fields.join());
  }

  /**
   * A square that is touched to say so, and again to take it back; it keeps the focus.
   * @param {string} name in the form
   * @param {string} value
   * @param {boolean} on
   * @param {string} html
   * @param {string} line by which it is found again
   * @param {string} [attributes] more of them, finished
   * @returns {string}
   */
  function square(name, value, on, html, line, attributes) {
    return (
      '<button type="button" class="sq" aria-pressed="' +
      on +
      '" data-hear="' +
      esc(line) +
      '" data-set="' +
      esc(name + "=" + (on ? "" : value)) +
      '"' +
      (attributes || "") +
      ">" +
      html +
      "</button>"
    );
  }

  /**
   * What the caller said of danger, place and vehicle, so that whoever reads the answer can see what it stands on.
   * @param {Object<string, string>} given
   * @param {Choices} choices
   * @param {boolean} ways whether each leads to where it is changed
   * @returns {string}
   */
  function toldBy(given, choices, ways) {
    var rig = look.rigs[given.rig];
    var lines = TOLD.concat(ways ? TOLD_TOO : [])
      .filter(function (name) {
        // What an engine may not be near to is not asked of a rig without one.
        return given[name] && !((name === "open" || name === "people") && rig && !rig.engine);
      })
      .map(function (name) {
        var row = choices(name);
        var on = row.squares.filter(function (choice) {
          return choice[0] === given[name];
        })[0];
        if (!on) return "";
        var label = esc(row.label.replace(/[“”?]/g, ""));
        return (
          (ways ? '<a href="#' + name + '" data-go="' + name + '">' + label + "</a>" : label) + ": <b>" + on[1] + "</b>"
        );
      });
    return lines.length
      ? '<p class="told' +
          (ways ? " np" : "") +
          '"><b>Told by the caller.</b> ' +
          lines.filter(Boolean).join("; ") +
          ".</p>"
      : "";
  }

  /**
   * What the figures hang on that nobody has asked: where it must get to, what the dash shows, the air, a long stay.
   * @param {Call} call
   * @param {any} words
   * @param {Object<string, string>} given
   * @param {string} dash in words
   * @param {number|null} most minutes to allow, null where nobody can say
   * @returns {Guess[]}
   */
  function guesses(call, words, given, dash, most) {
    /** @type {Guess[]} */
    var told = [];
    if (call.need.kind === "usual")
      told.push(["home", NEED_FIRST, words.usual_stay_min + " minutes plugged in are enough"]);
    if (call.dash.kind === "unknown") told.push(["percent", DASH_FIRST, dash]);
    if (!given.air) told.push(["air", AIR_FIRST, "the air is " + words.airs[call.ambient]]);
    // Who allows it allows it in quiet hours too, as the rules have it: they are not asked about beside it.
    var engine = look.rigs[call.rig].engine;
    if (most !== null && most <= LONG_STAY_MIN) return told;
    if (!given.allowed)
      told.push(
        engine
          ? ["allowed", "May our engine run there so long?", "our engine may run there so long"]
          : ["allowed", "May we stay so long?", "so long a stay is allowed there"]
      );
    // What an engine gives for so long hangs on its fuel, and on the height where it stands.
    if (engine && !(given.own_tank && given.own_cans))
      told.push(["own_tank", "What fuel have we on board?", "all of ours is full"]);
    if (look.rigs[call.rig].supply.battery && !given.own_charge)
      told.push(["own_charge", "How full is our battery?", "it is full"]);
    if (engine && !given.height) told.push(["height", "How high does it stand?", feetOf(call.altitude)]);
    return told;
  }

  /** @param {number} altitude a step of it @returns {string} */
  function feetOf(altitude) {
    return look.words().altitude_steps_ft[altitude].toLocaleString("en-US") + " ft";
  }

  /** @param {Shown} shown @returns {Guess[]} */
  function guessesOf(shown) {
    var dash = "the dash shows " + shown.plan.start.percent + " %";
    return guesses(shown.call, shown.words, shown.given, dash, allowed(shown.plan));
  }

  /** @param {Shown} shown @returns {string} */
  function assumed(shown) {
    return granted(guessesOf(shown), shown.choices);
  }

  /**
   * Each is a way to where it is answered, or is answered where it stands; on paper, what is taken.
   * @param {Guess[]} told
   * @param {Choices} choices
   * @returns {string}
   */
  function granted(told, choices) {
    if (!told.length) return "";
    var ways = told.map(function (one, at) {
      var name = esc(one[0]);
      if (IN_PLACE.indexOf(one[0]) >= 0)
        return (
          '<div class="np"><span>' + esc(one[1]) + "</span>" + answers([one[0]], choices, ["yes", "no"]) + "</div>"
        );
      return (
        (OFF_PAPER.indexOf(one[0]) >= 0 ? '<span class="np">' : "<span>") +
        (at ? '<span class="sep">; </span>' : "") +
        '<a href="#' +
        name +
        '" data-go="' +
        name +
        '">' +
        esc(one[1]) +
        "</a> <b>" +
        esc(one[2]) +
        "</b></span>"
      );
    });
    return '<div class="gr"><b>Not asked, so taken for granted:</b> ' + ways.join("") + "</div>";
  }

  /**
   * The squares where our own fuel or charge ends before the need is met: go as far as that, or another rig.
   * @param {any} plan
   * @returns {string}
   */
  function asFar(plan) {
    var percent = plan.found.in_reach,
      miles = sheet.milesAt(plan.found, percent);
    return (
      "<p>" +
      esc(percent + " % is good for " + miles + " mi in nine of ten cases, with none left over.") +
      "</p>" +
      '<div class="o"><button type="button" class="sq" data-set="need=to" data-also="to=' +
      percent +
      '">It helps: up to ' +
      percent +
      ' %</button><a class="sq" href="#others">It does not: another rig</a></div>'
    );
  }

  /**
   * The square for the mildest way of driving that makes it; none where more than the road refuses it.
   * @param {any} plan
   * @param {string} question
   * @returns {string}
   */
  function milder(plan, question) {
    var far = plan.reasons.every(function (/** @type {any} */ one) {
      return one.code === "need_exceeds_battery";
    });
    var way = far || plan.verdict === "ask_first" ? sheet.milderWay(plan.found.call, plan.found) : null;
    if (!way) return "";
    var heat = way.heat === plan.found.call.heat ? "" : "heat=off";
    var first = way.mph === null ? heat : "speed=" + way.mph;
    return (
      '<div class="np">' +
      (question ? '<p class="lead"><b>' + question + "</b></p>" : "") +
      '<div class="o"><button type="button" class="sq" data-set="' +
      esc(first) +
      '"' +
      (first !== heat && heat ? ' data-also="' + heat + '"' : "") +
      ">" +
      esc(way.how.charAt(0).toUpperCase() + way.how.slice(1)) +
      "</button></div>" +
      (heat ? "<p>" + esc(withoutHeat(plan.found.call)) + "</p>" : "") +
      "</div>"
    );
  }

  /** The caution beside a drive without heat or cooling. @param {Call} call @returns {string} */
  function withoutHeat(call) {
    var words = look.words();
    return (
      "Without heat or cooling at " +
      words.airs[call.ambient] +
      (words.ambient_steps_f[call.ambient] < MILD_F ? ": warm clothes and blankets on board" : ": water on board") +
      ", and nobody small, old or ill. Else a tow."
    );
  }

  /** The squares for a longer stay than was asked for. @param {Shown} shown @returns {string} */
  function longer(shown) {
    var now = look.minutesOf(shown.call.need);
    return (
      '<div class="o">' +
      LONGER_MIN.filter(function (minutes) {
        return minutes > now;
      })
        .map(function (minutes) {
          return (
            '<button type="button" class="sq" data-set="need=minutes" data-also="minutes=' +
            minutes +
            '">' +
            minutes +
            " min</button>"
          );
        })
        .join("") +
      "</div>"
    );
  }

  /** Whether a reason is something to do first, and not a second thought. @param {any} reason @returns {boolean} */
  function isChange(reason) {
    return SECOND.indexOf(reason.code) < 0;
  }

  /**
   * What is told beside a yes: why it is one, the cold, fuel or a tow that may be the quicker help.
   * @param {Shown} shown
   * @returns {string}
   */
  function mindOf(shown) {
    var plan = shown.plan,
      told = plan.reasons;
    if (plan.verdict === "serve_with_changes")
      told = told.filter(function (/** @type {any} */ one) {
        return !isChange(one);
      });
    if (plan.verdict === "try") told = told.slice(1);
    told = told.filter(function (/** @type {any} */ one) {
      return !isTow(one);
    });
    return told.length ? part("mind", "Mind", reasonsOf(shown.words, told, 0)) : "";
  }

  // ----------------------------------------------------------------------------------------------- what to plug and set

  /** @param {Shown} shown @returns {string} */
  function pathOf(shown) {
    var path = shown.plan.path;
    if (!path) return "";
    var key = [path.connector, path.adapter || "", path.inlet, path.kept || ""].join("|");
    var port = shown.plan.texts[path.port];
    return (
      '<div class="pw">' +
      (shown.drawn[key] || "") +
      '<p class="n">Port: ' +
      esc(port.replace(/\.$/, "")) +
      '.<span class="np"> ' +
      link("ports/" + path.inlet + ".html", "What it looks like") +
      ".</span></p></div>"
    );
  }

  /** @param {Shown} shown @returns {string} */
  function turnTo(shown) {
    var plan = shown.plan,
      setting = plan.setting,
      rig = shown.rig,
      by = plan.chain[plan.found.outcome.set_by];
    var leave = !setting.moved && setting.from_mark === setting.mark;
    var marks = rig.marks
      .map(function (/** @type {[string, number]} */ mark) {
        var on = mark[0] === setting.mark;
        var begins = starts(setting) && mark[0] === setting.start_mark;
        return (
          "<li" +
          (on ? ' class="on" aria-current="true"' : begins ? ' class="st1"' : "") +
          "><b>" +
          esc(mark[0]) +
          "</b><br>" +
          esc(sheet.amps(mark[1])) +
          "</li>"
        );
      })
      .join("");
    var first = starts(setting)
      ? '<p><span class="n">plug in at mark</span> ' + f(setting.start_mark, "f4") + "</p>"
      : "";
    var because =
      "<p>" +
      esc(sheet.say("held_by", { link: by.name, amps: sheet.amps(by.limit_a), basis: by.basis })) +
      " " +
      source(shown.words, by.source) +
      '. The highest mark not above that; <a href="#ladder">the ladder</a>, ' +
      method("chain") +
      ".</p>";
    return (
      '<section class="tt" aria-labelledby="turn-to"><h2 class="k" id="turn-to">' +
      (leave && !first ? "Leave at" : "Turn to") +
      "</h2>" +
      first +
      '<p class="upto">' +
      (first ? '<span class="n">then up to mark</span> ' : "") +
      f(setting.mark, "f4") +
      (first ? "" : ' <span class="n">mark</span>') +
      ' <span class="eq"><span class="n">=</span> ' +
      f(sheet.amps(setting.output_a), "f2") +
      '</span></p><label class="rb"><span class="k">Read back</span> ' +
      f(sheet.amps(setting.read_back_a), "f2") +
      ' <input type="checkbox"><span class="vh">It reads back ' +
      esc(sheet.amps(setting.read_back_a)) +
      "</span></label>" +
      (rig.marks.length > 1 ? '<ol class="mks" aria-label="Marks of the unit">' + marks + "</ol>" : "") +
      why("this mark", because) +
      "</section>"
    );
  }

  /** @param {Shown} shown @returns {string} */
  function minutesOf(shown) {
    var plan = shown.plan,
      allow = allowed(plan);
    var pieces = PARTS.filter(function (one) {
      return plan.parts[one[0]];
    })
      .map(function (one) {
        return plan.parts[one[0]] + " min " + one[1];
      })
      .join(", ");
    var best =
      plan.at_best === null || plan.at_best === undefined ? "" : " At best " + inHours(atLeast(plan.at_best)) + ".";
    var because =
      "<p>" +
      esc(pieces) +
      ": " +
      esc(inHours(plan.minutes_on_site)) +
      " likely." +
      esc(best) +
      " Allow holds nine of ten such calls, rounded up. " +
      esc(sheet.kilowatts(plan.rate.power_meter)) +
      " at the meter; " +
      method("table") +
      ", " +
      method("sure").replace("how it is reckoned", "how sure") +
      ".</p>";
    return (
      '<section class="mn" aria-labelledby="on-site"><h2 class="k" id="on-site">Minutes on site</h2><p><span class="n">likely</span> ' +
      big(plan.minutes_on_site, "f2") +
      '</p><p><span class="n">allow</span> ' +
      (allow === null
        ? f("open", "f2") + ' <span class="n">fewer than nine in ten get there</span>'
        : big(allow, "f3")) +
      "</p>" +
      why("these minutes", because) +
      "</section>"
    );
  }

  /** @param {Shown} shown @returns {string} */
  function cells(shown) {
    var plan = shown.plan,
      words = shown.words,
      road = plan.found.road,
      rate = plan.rate;
    var speed = words.speed_steps_mph[shown.call.speed];
    var told =
      (rate.battery_w / 1000).toFixed(1) +
      " kW into the battery; the road takes " +
      (road.wh / 100).toFixed(1) +
      " kWh per 100 mi (" +
      (speed === null ? "mixed road" : "steady " + speed + " mph") +
      ", " +
      words.airs[shown.call.ambient] +
      ").";
    return (
      '<div class="fg"><div><span class="k">Miles added per hour plugged in</span> ' +
      f(plan.miles_added_per_hour, "f2") +
      " mi" +
      why("this rate", "<p>" + esc(told) + " " + method("road") + ".</p>") +
      '</div><div><span class="k">Release at</span> ' +
      f(plan.target + " %", "f2") +
      " " +
      f((plan.session.meter_wh / 1000).toFixed(1)) +
      " kWh on our meter" +
      why(
        "this percent",
        "<p>" +
          esc(
            "The dash shows " +
              plan.start.percent +
              " % now; " +
              (plan.session.battery_wh / 1000).toFixed(1) +
              " kWh go into the battery and " +
              (plan.session.meter_wh / 1000).toFixed(1) +
              " kWh show on the meter." +
              (look.inMiles(shown.call.need)
                ? " It holds the miles asked about in nine of ten cases, with what is to be left."
                : " It is what was asked for.")
          ) +
          " " +
          method("road") +
          ".</p>"
      ) +
      "</div></div>"
    );
  }

  /** @param {Shown} shown @returns {string} */
  function menuOf(shown) {
    var plan = shown.plan;
    if (!plan.menu || !plan.menu.length) return "";
    var rows = plan.menu.map(function (/** @type {any} */ entry) {
      return [
        f(entry.minutes),
        f(entry.percent + " %"),
        f(entry.miles_at_least) + ' <span class="n">' + entry.miles_likely + " likely</span>",
        entry.reaches.map(esc).join(", ") || "–",
      ];
    });
    var last = plan.menu[plan.menu.length - 1],
      session = plan.session;
    if (session && session.percent > last.percent) {
      // No common stay is long enough: the row of the plan itself.
      var parts = plan.parts,
        road = plan.found.road;
      rows.push([
        f(parts.handshake + parts.cold + parts.charging + parts.refuel),
        f(session.percent + " %"),
        f(Math.floor((10 * session.battery_wh) / Math.ceil((road.wh * road.miles_permille) / 1000))) +
          ' <span class="n">' +
          Math.floor((10 * session.battery_wh) / road.wh) +
          " likely</span>",
        "this plan",
      ]);
    }
    return part(
      "menu",
      "What a stay gives",
      table(
        "Minutes plugged in and what they give",
        [
          ["Minutes plugged<br> in, likely", true],
          ["Dash", true],
          ["Miles added,<br> at least", true],
          ["Reaches,<br> none left over", false],
        ],
        rows
      ) +
        why(
          "this menu",
          "<p>The last whole percent that the charge table reaches in so many minutes, hand-shake included; miles at least are those of nine in ten trips. " +
            method("table") +
            ".</p>"
        )
    );
  }

  /** @param {Shown} shown @returns {string} */
  function fuelOf(shown) {
    var plan = shown.plan,
      session = plan.session,
      supply = shown.rig.supply,
      there = look.carried(supply, shown.call);
    if (!session) return "";
    if (supply.battery) {
      var full = supply.battery.in_air_kwh[shown.call.ambient];
      var floor = supply.battery.floor * full + supply.battery.way_home_kwh;
      return part(
        "fuel",
        "Our battery",
        dipstick(full, session.left_kwh, session.used_kwh, floor) +
          "<p>Uses " +
          f(sheet.up(session.used_kwh) + " kWh") +
          "; left " +
          f(sheet.down(session.left_kwh) + " kWh") +
          ", of which " +
          esc(sheet.up(floor)) +
          " kWh are kept for its floor" +
          (supply.battery.way_home_kwh ? " and the way home" : "") +
          ".</p>" +
          why(
            "this charge",
            "<p>" +
              esc("What the source gives at its outlet over an efficiency of " + supply.battery.efficiency + ". ") +
              method("fuel") +
              ".</p>"
          )
      );
    }
    if (!supply.fuels) return "";
    var stops = session.stops ? " Refuel stops: " + f(session.stops) + "." : "";
    var slow = slowFuel(plan, there.tank + there.cans);
    return part(
      "fuel",
      "Our " + shown.call.fuel,
      dipstick(there.tank + there.cans, session.left_l, session.used_l, session.keep_l) +
        "<p>Burns " +
        f(sheet.gallons(session.used_l)) +
        "; left for " +
        f(sheet.down(session.hours_left) + " h") +
        " at this load, " +
        esc(sheet.gallons(session.keep_l)) +
        " of it to be kept." +
        stops +
        "</p>" +
        slow +
        why(
          "this fuel",
          "<p>" +
            esc(
              "No-load burn by the hour and so much a kilowatt-hour, from the rig record; kept: " +
                sheet.gallons(session.keep_l) +
                ", an hour at this load or the way home. "
            ) +
            method("fuel") +
            ".</p>"
        )
    );
  }

  /**
   * What the longest charge that is allowed for burns at this load: told where it reaches what is to be kept.
   * @param {any} plan
   * @param {number} there litres, tank and cans
   * @returns {string}
   */
  function slowFuel(plan, there) {
    var session = plan.session,
      most = plan.bands ? plan.bands.charging.p90 : null;
    if (most === null || !(session.hours_left > 0)) return "";
    var hour = session.left_l / session.hours_left;
    var used = session.used_l + hour * Math.max(most / 60 - session.seconds / 3600, 0);
    if (used + session.keep_l <= there) return "";
    return (
      "<p><b>A slow charge (allow " +
      esc(inHours(atMost(most))) +
      " plugged in) burns about " +
      esc(sheet.gallons(used)) +
      ": " +
      (used > there ? "more than is on board." : "it eats into what is to be kept.") +
      " Bring more.</b></p>"
    );
  }

  /**
   * What is left, what this call takes, and the floor.
   * @param {number} full
   * @param {number} left
   * @param {number} used
   * @param {number} keep
   * @returns {string}
   */
  function dipstick(full, left, used, keep) {
    /** @param {number} value @returns {string} */
    function x(value) {
      return Math.max(Math.min((86 * value) / full, 86), 0).toFixed(2) + "%";
    }
    if (!(full > 0)) return "";
    return (
      '<svg class="d dip" aria-hidden="true" width="100%" height="3.4em"><defs><pattern id="hatch-fuel" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path class="l2" d="M0 0V6"/></pattern></defs>' +
      '<rect class="if" x="0" y="1.5em" width="' +
      x(left) +
      '" height="1.1em"/><rect fill="url(#hatch-fuel)" x="' +
      x(left) +
      '" y="1.5em" width="' +
      x(used) +
      '" height="1.1em"/>' +
      '<rect class="l2" x="0" y="1.5em" width="86%" height="1.1em"/><line class="la" x1="' +
      x(keep) +
      '" x2="' +
      x(keep) +
      '" y1="1.1em" y2="2.9em"/><text x="' +
      x(keep) +
      '" y="0.9em" dx="0.3em"><tspan class="n">keep</tspan></text></svg>'
    );
  }

  /** @param {Shown} shown @returns {string} */
  function sayOf(shown) {
    if (!shown.plan.say) return "";
    var told = guessesOf(shown)
      .filter(function (one) {
        return OFF_PAPER.indexOf(one[0]) < 0;
      })
      .map(function (one) {
        return one[2];
      });
    var cold = sheet.isColdWait(shown.call, shown.plan.parts);
    return part(
      "say",
      "Say to the customer",
      (told.length
        ? "<p><b>Ask before this is said:</b> it takes for granted that " + esc(told.join(" and that ")) + ".</p>"
        : "") +
        (cold ? KEEP_WARM : "") +
        '<div class="np">' +
        missed(shown) +
        "</div>" +
        (shown.plan.reasons.some(isTow) ? "<p><b>Offer a tow too</b>: it may be there sooner.</p>" : "") +
        '<blockquote id="say-text">' +
        esc(shown.plan.say) +
        '</blockquote><p class="acts"><button type="button" data-copy="say-text">Copy the sentence</button></p>'
    );
  }

  // ----------------------------------------------------------------------------------------------------- below the fold

  /** @param {Shown} shown @returns {string} */
  function watchOf(shown) {
    var rows = shown.plan.watch.map(function (/** @type {any[]} */ line) {
      var stops = (line[3] === null ? [] : ["below " + line[3]]).concat(line[4] === null ? [] : ["above " + line[4]]);
      return [esc(line[0] + ", " + line[5]), f(line[1] + " to " + line[2]), esc(stops.join(" or ")) || "–"];
    });
    return part(
      "watch",
      "Watch",
      table(
        "What the meter should read, and when to stop",
        [
          ["Read", false],
          ["Should be", true],
          [icon("stop") + "Stop", true],
        ],
        rows
      )
    );
  }

  /** @param {Shown} shown @returns {string} */
  function abortOf(shown) {
    return part("abort", "Give up and tow when", bullets(shown.plan.abort.map(esc)));
  }

  /** @param {string[]} steps @param {string} id @returns {string} */
  function checklist(steps, id) {
    return (
      '<ol class="ck" id="' +
      id +
      '">' +
      steps
        .map(function (step) {
          return '<li><label><input type="checkbox"><span>' + esc(step) + "</span></label></li>";
        })
        .join("") +
      "</ol>"
    );
  }

  /** @param {Shown} shown @returns {string} */
  function stepsOf(shown) {
    var plan = shown.plan;
    if (!plan.steps) return "";
    var nothing =
      '<ol class="steps">' +
      plan.nothing
        .map(function (/** @type {string} */ line) {
          return "<li>" + esc(line) + "</li>";
        })
        .join("") +
      "</ol>";
    return (
      part("steps", "Steps", checklist(plan.steps, "step-list"), "stp") +
      '<details id="nothing"><summary>Plugged in, and nothing happens</summary>' +
      nothing +
      "</details>"
    );
  }

  /** On paper what is dangerous stands before the first step. @param {Shown} shown @returns {string} */
  function stopsOnPaper(shown) {
    var told = shown.plan.cautions.filter(function (/** @type {any} */ one) {
      return one.level !== "note";
    });
    return told.length ? '<section class="po"><h2>Cautions</h2>' + cautionList(shown, told) + "</section>" : "";
  }

  /**
   * What a printed sheet has in another order than a screen: its columns break where they are full, and a list of
   * reasons to stop must not be one that is read half.
   * @param {Shown} shown
   * @returns {string}
   */
  function onPaper(shown) {
    if (!shown.plan.steps) return "";
    return (
      '<section class="po pa1"><h2>Give up and tow when</h2>' +
      bullets(shown.plan.abort.map(esc)) +
      '</section><section class="po pa2"><h2>Plugged in, and nothing happens</h2><ol class="steps">' +
      shown.plan.nothing
        .map(function (/** @type {string} */ line) {
          return "<li>" + esc(line) + "</li>";
        })
        .join("") +
      "</ol></section>"
    );
  }

  /**
   * What is written by hand on a printed sheet: whose call it is, and what was read.
   * @param {Shown} shown
   * @returns {string}
   */
  function written(shown) {
    /** @param {string} label @param {string} style @returns {string} */
    function line(label, style) {
      return "<span>" + esc(label) + ' <i class="' + style + '"></i></span>';
    }
    var hours = "";
    if (shown.plan.session && sheet.isFeltHourly(shown.plan.session)) {
      var stays = Math.ceil((allowed(shown.plan) || Infinity) / 60);
      for (var hour = 1; hour <= Math.min(stays, HOURS_WRITTEN); hour += 1) hours += line(String(hour), "w0");
      hours = '<p class="hr"><span>Each hour, plugs felt and dash %:</span>' + hours + "</p>";
    }
    return (
      '<div class="po wr" aria-hidden="true"><p>' +
      line("Job", "w1") +
      line("Customer's phone", "w2") +
      line("Place", "w3") +
      line("Dispatcher's phone", "w2") +
      "</p><p>" +
      line("Read back " + sheet.amps(shown.plan.setting.read_back_a), "w0") +
      line("Dash at start, %", "w1") +
      line("Meter at start, kWh", "w1") +
      line("Began", "w1") +
      line("Ended", "w1") +
      line("Dash at end, %", "w1") +
      "</p>" +
      hours +
      "</div>"
    );
  }

  /** @param {Shown} shown @returns {string} */
  function cautionsOf(shown) {
    return part("cautions", "Cautions", cautionList(shown, shown.plan.cautions));
  }

  /** @param {Shown} shown @param {any[]} cautions @returns {string} */
  function cautionList(shown, cautions) {
    return (
      '<ul class="cau">' +
      cautions
        .map(function (/** @type {any} */ caution) {
          return (
            "<li" +
            (caution.level === "note" ? ' class="note-only"' : "") +
            '><span class="v">' +
            icon(caution.level) +
            LEVELS[caution.level] +
            "</span> " +
            esc(caution.text) +
            ' <span class="n">' +
            source(shown.words, caution.source) +
            "</span></li>"
          );
        })
        .join("") +
      "</ul>"
    );
  }

  /** @param {Shown} shown @returns {string} */
  function ladderOf(shown) {
    var plan = shown.plan,
      words = shown.words;
    /** @type {Array<[string, any[]]>} */
    var groups = [];
    plan.chain.forEach(function (/** @type {any} */ one) {
      var title = words.ladder_groups[one.link],
        last = groups[groups.length - 1];
      var rung = {
        label: one.name,
        basis: rangeferry.drawings.basis(one.rating_a, one.limit_a),
        limit_a: one.limit_a,
        protected: one.protected,
        holds_back: Boolean(one.sets_current),
      };
      if (last && last[0] === title) last[1].push(rung);
      else groups.push([title, [rung]]);
    });
    var draws = plan.rate ? plan.rate.current / 10 : null;
    var drawing = rangeferry.drawings.ladder({
      groups: groups,
      rail_a: draws,
      rail_label: draws === null ? "" : "vehicle draws " + draws + " A",
      name: "this call",
    });
    var rows = plan.chain.map(function (/** @type {any} */ one) {
      return [
        esc(one.name),
        one.protected ? f(sheet.amps(one.limit_a)) : "not protected",
        esc(one.basis) + ' <span class="n">' + source(words, one.source) + "</span>",
      ];
    });
    return part(
      "ladder",
      "What holds it back",
      drawing +
        '<p class="n">What holds back sets the amps: it is no fault.</p>' +
        "<details><summary>The ladder as a table, with sources</summary>" +
        table(
          "Amps that each part allows for hours",
          [
            ["Part", false],
            ["Allows", true],
            ["Why", false],
          ],
          rows
        ) +
        '</details><p class="n">' +
        link("rigs/" + shown.call.rig + ".html", "What would raise it") +
        ", " +
        method("chain") +
        ".</p>"
    );
  }

  /** @param {Shown} shown @returns {string} */
  function rulerOf(shown) {
    var plan = shown.plan,
      found = plan.found,
      rate = plan.rate,
      data = found.data,
      from = plan.start.percent,
      session = plan.session;
    if (!session || session.percent <= from) return "";
    /** @type {Array<[number, number]>} */
    var percents = [];
    for (var percent = from; percent <= 100; percent += 1)
      percents.push([percent, look.seconds(rate, from, percent) / 60]);
    /** @type {Array<[number, number]>} */
    var miles = [];
    var most = Math.ceil((found.road.wh * found.road.miles_permille) / 1000),
      at = from;
    for (var mile = 0; at <= 100; mile += MILE_STEP) {
      while (at <= 100 && 10 * (data.battery_wh[at] - data.battery_wh[from]) < mile * most) at += 1;
      if (at <= 100) miles.push([mile, look.seconds(rate, from, at) / 60]);
    }
    var band = plan.bands ? plan.bands.charging : null;
    var typical = session.seconds / 60;
    var goal = look.inMiles(shown.call.need) ? shown.call.need.value + " mi" : session.percent + " %";
    var drawing = rangeferry.drawings.ruler({
      percents: percents,
      miles: miles,
      goals: [{ minute: typical, label: goal }],
      name: "this call",
      band:
        band && band.p10 !== null
          ? {
              low_min: Math.min(band.p10, typical),
              likely_min: typical,
              allow_min: band.p90 === null ? null : Math.max(band.p90, typical),
            }
          : null,
    });
    var rows = plan.menu.map(function (/** @type {any} */ entry) {
      return [f(entry.minutes), f(entry.percent + " %"), f(entry.miles_at_least)];
    });
    return part(
      "ruler",
      "Minutes plugged in, until " + goal,
      drawing +
        '<p class="n">Miles are the low end: nine of ten such trips do at least this. Hatch: eight of ten charges end in it.</p><details><summary>The ruler as a table</summary>' +
        table(
          "Percent and miles by minutes plugged in",
          [
            ["Minutes", true],
            ["Dash", true],
            ["Miles, at least", true],
          ],
          rows
        ) +
        "</details>"
    );
  }

  /** @param {Shown} shown @returns {string} */
  function refusedOf(shown) {
    var refused = shown.plan.refused;
    var html = refused.length ? bullets(refused.map(esc)) : "<p>None worth telling.</p>";
    return part(
      "refused",
      "Ways that are refused",
      html + '<p class="n">' + link("plugs/index.html", "Every plug and port") + ", " + method("paths") + ".</p>"
    );
  }

  /**
   * What was taken for granted because nobody asked.
   * @param {Object<string, string>} answers_given
   * @param {Shown} shown
   * @returns {string}
   */
  function takenOf(answers_given, shown) {
    var words = shown.words,
      call = shown.call,
      plan = shown.plan,
      engine = shown.rig.engine;
    /** @type {Array<[string, string]>} */
    var told = [
      ["traffic", "out of moving traffic"],
      ["danger", "no crash, water, smoke or warning"],
      ["allowed", "allowed by whoever runs the place"],
      ["quiet", "no quiet hours"],
      ["reach", "port within reach of the cable"],
      ["inside", "port whole, dry and open"],
      ["v12", "12 V battery good"],
      ["key", "key there"],
      ["air", "air " + words.airs[call.ambient] + ", usual there"],
      ["height", "height " + words.altitude_steps_ft[call.altitude].toLocaleString("en-US") + " ft, usual there"],
    ];
    if (engine)
      told = told.concat([
        ["own_tank", "our tank full"],
        ["own_cans", "our spare cans full"],
      ]);
    if (shown.rig.supply.battery) told.push(["own_charge", "our battery full"]);
    var open = told
      .filter(function (one) {
        // Who allows it allows it in quiet hours too.
        return !answers_given[one[0]] && !(one[0] === "quiet" && answers_given.allowed === "yes");
      })
      .map(function (one) {
        return one[1];
      });
    if (plan.start.said !== null || call.dash.kind === "unknown")
      open.unshift(
        "dash at " + plan.start.percent + " %, " + Math.floor(plan.start.low) + " to " + Math.ceil(plan.start.high)
      );
    if (call.need.kind === "usual") open.unshift(words.usual_stay_min + " minutes plugged in");
    if (call.pack === "unknown") open.push("battery pack as cold as it may be, or warm");
    return open.length
      ? part("taken", "Taken for granted, since nobody asked", "<p>" + esc(open.join("; ")) + ".</p>")
      : "";
  }

  /**
   * The answer for one class and one rig: what decides at once, and what is read after it.
   * @param {Shown} shown
   * @param {Object<string, string>} given
   * @returns {Whole}
   */
  function whole(shown, given) {
    var plan = shown.plan,
      verdict = plan.verdict;
    if (verdict === "cannot_serve" || !plan.setting) {
      return {
        top: [verdictOf(shown), toldBy(given, shown.choices, true)].filter(Boolean),
        stay: none,
        rest: function () {
          // What place or vehicle forbid hangs on nothing else.
          return isByRule(shown) ? "" : noSetting(shown) + refusedOf(shown) + takenOf(given, shown);
        },
      };
    }
    if (verdict === "ask_first" || isGated(plan)) {
      return {
        top: [verdictOf(shown), SEND, meanwhile(shown), toldBy(given, shown.choices, true), pathOf(shown)].filter(
          Boolean
        ),
        stay: none,
        rest: function () {
          return refusedOf(shown) + takenOf(given, shown);
        },
      };
    }
    var minutes = plan.session ? minutesOf(shown) : "";
    return {
      top: [
        verdictOf(shown),
        SEND,
        written(shown),
        pathOf(shown),
        '<div class="tm">' + turnTo(shown) + "<div>" + minutes + (plan.session ? cells(shown) : "") + "</div></div>",
      ].filter(Boolean),
      stay: function () {
        return menuOf(shown) + fuelOf(shown) + sayOf(shown);
      },
      rest: function () {
        return (
          mindOf(shown) +
          toldBy(given, shown.choices, true) +
          takenOf(given, shown) +
          '<div class="sp wa">' +
          watchOf(shown) +
          abortOf(shown) +
          "</div>" +
          stopsOnPaper(shown) +
          stepsOf(shown) +
          onPaper(shown) +
          cautionsOf(shown) +
          '<div class="np">' +
          ladderOf(shown) +
          rulerOf(shown) +
          refusedOf(shown) +
          "</div>"
        );
      },
    };
  }

  /** Whether place or vehicle forbid it, whatever our parts could give. @param {Shown} shown @returns {boolean} */
  function isByRule(shown) {
    return shown.words.rules.some(function (/** @type {any} */ one) {
      return one.code === shown.plan.reasons[0].code;
    });
  }

  /**
   * The ladder of a rig that is refused: it shows which part says no.
   * @param {Shown} shown
   * @returns {string}
   */
  function noSetting(shown) {
    if (!shown.plan.chain.length) return ""; // no part of ours says no
    return '<div class="np">' + ladderOf(shown) + "</div>";
  }

  /**
   * What it would come to once the question is answered well: words, no figures to act on.
   * @param {Shown} shown
   * @returns {string}
   */
  function meanwhile(shown) {
    var plan = shown.plan,
      allow = allowed(plan);
    if (!plan.session) return "";
    var text =
      "Once that is answered well: " +
      plan.miles_added_per_hour +
      " miles added per hour plugged in; " +
      inHours(plan.minutes_on_site) +
      " on site likely" +
      (allow === null ? "" : ", allow " + inHours(allow)) +
      ", to " +
      plan.target +
      " % on the dash.";
    return '<p class="mw">' + esc(text) + "</p>";
  }

  // ------------------------------------------------------------------------------------------------ which vehicle it is

  /**
   * The answer over all classes that the vehicle may be.
   * @param {any} found an envelope
   * @param {any} words
   * @param {any} rig
   * @param {Choices} choices
   * @param {Call} call of any of them: what is known of place and danger
   * @param {Object<string, string>} given
   * @returns {string}
   */
  function envelope(found, words, rig, choices, call, given) {
    // What has to be known of any of them before one is served: danger, and a question that all of them ask.
    var state = manyOf(found, call, given),
      gated = state.gated,
      firm_first = state.firm_first,
      need_first = state.need_first;
    var usual = call.need.kind === "usual";
    var count = unique(
      found.members.map(function (/** @type {any} */ one) {
        return one.id;
      })
    ).length;
    var engine = found.members.some(function (/** @type {any} */ one) {
      return words.classes[one.id][7];
    });
    var who =
      "<p>" +
      (count === 1 ? "One class" : f(count) + " classes") +
      " may be meant, with <b>" +
      esc(rig.name) +
      "</b>" +
      (found.refused ? "; " + f(found.refused) + " of " + found.members.length + " cases cannot be served" : "") +
      '. <span class="n">' +
      askedOf(call, given, words, dashSaid(call)) +
      "</span></p>" +
      (engine && found.verdict !== "cannot_serve"
        ? given.door
          ? "<p><b>Not asked yet: fuel in its own tank. With fuel it drives without our help.</b></p>"
          : "<p>Some of them drive on gasoline too: with fuel in the tank without our help.</p>"
        : "");
    var verdict = gated || need_first ? "ask_first" : found.verdict,
      head = headOfMany(found, call, given),
      question = "",
      which = false;
    var mixed = found.served < found.members.length;
    // What minutes hang on most is asked before what narrows the vehicle; whether so long a stay is allowed, after it.
    var told = found.served ? guesses(call, words, given, "it shows little", found.ends.high) : [];
    // On a pass the climb is more than the miles.
    if (found.served && look.inMiles(call.need) && !given.climb)
      told.unshift(["climb", CLIMB_FIRST, "there is no climb"]);
    var pressing = told.some(function (one) {
      return OFF_PAPER.indexOf(one[0]) < 0;
    });
    // One way leads to all of it, where nothing of it is known: they are marked side by side in the form.
    var open = pressing && !need_first ? granted(told, choices) : "";
    // A question about danger or place that all of them ask stands among the first already.
    var asked =
      found.of_all &&
      (heard(call, choices)
        ? isOfPlace(ANSWERED[found.ask.code] || [])
        : isDanger(found.ask) && openDanger(call).length > 0);
    // What any caller can say of the vehicle comes before where it must get to; what is less sure comes after it.
    var easy = state.easy ? asking(found.ask, "") : "";
    if (need_first)
      question =
        '<div class="o np">' +
        farFirst(call, given) +
        (usual
          ? '<button type="button" class="sq" data-set="need=minutes" data-also="minutes=' +
            words.usual_stay_min +
            '">Not known: ' +
            words.usual_stay_min +
            " minutes plugged in</button>"
          : "") +
        "</div>";
    else if (found.ask && !gated && !asked && !easy) question = asking(found.ask, open && !firm_first ? "Then: " : "");
    else if (!gated && !asked && !easy && found.verdict === "ask_first") which = true;
    if (found.verdict === "cannot_serve") question = call911(found.reasons);
    if (firm_first) question = dangerFirst(call, words, choices) + question;
    var late = pressing || (state.left && mixed && !firm_first) ? "" : granted(told, choices);
    if (!firm_first) {
      var said = state.lines.length ? SAY + brief(state.lines) : "";
      // Some of those who wait so long have no warm place for it.
      var cold = found.members.some(function (/** @type {any} */ one) {
        return SERVES.indexOf(one.plan.verdict) >= 0 && sheet.isColdWait(one.plan.found.call, one.plan.parts);
      });
      var then = thenAsk(which ? found.members : [], said ? nearer(found, call) : "", said && cold ? KEEP_WARM : "");
      question = easy + open + (state.left ? question + said : said + question) + then + late;
    }
    // What to ask, and what it comes to, stands before what it is about: it is read out.
    var html = block(verdict, head, question + who + reasonsOf(words, found.reasons, 0)) + SEND;
    var next = found.of_all ? found.next : gated ? found.ask : null;
    if (firm_first) html += open || late;
    if (next) html += asking(next, "Then: ");

    /** @param {any} one @param {string} before @returns {string} */
    function asking(one, before) {
      return (
        '<p class="lead">' +
        before +
        "<b>" +
        esc(inShort(one)) +
        "</b></p>" +
        (ANSWERED[one.code]
          ? answers(ANSWERED[one.code], choices, one.answers, one.field)
          : "<p>It is answered once the class is chosen: touch it below.</p>")
      );
    }
    var sums = "";
    if (found.served) {
      var some = found.served < found.members.length;
      /** @type {string[]} */
      var parts = [];
      if (!usual)
        parts.push(
          (firm_first ? minutesOfMany(found, call, given, "Likely ") : "Likely " + fromTo(found.likely) + " on site") +
            (found.ends.low === null ? "" : ", at best " + inHours(atLeast(found.ends.low)))
        );
      if (found.rates)
        parts.push(
          between(found.rates) +
            " miles added per hour plugged in" +
            (given.air ? "" : " at " + words.airs[call.ambient] + ", fewer in the cold")
        );
      if (found.targets && !usual) parts.push("to " + between(found.targets) + " % on the dash");
      sums +=
        '<p class="mw">' +
        esc(
          (some ? "For " + servedOfMany(found) + ": " : "") +
            parts.join("; ") +
            (some ? "" : ", whichever it is") +
            (firm_first ? ", once that is answered well" : "") +
            "."
        ) +
        "</p>";
      // The crew packs it before it drives.
      html +=
        "<p>Adapter to take along: " +
        esc(found.adapters.join(", or ")) +
        (firm_first || need_first ? "" : ". Mark of our unit: " + esc(found.marks.join(" or "))) +
        "." +
        (rig.engine && !(given.own_tank && given.own_cans) && html.indexOf('data-go="own_tank"') < 0
          ? ' <a class="np" href="#own_tank" data-go="own_tank">Our fuel is taken as full</a>.'
          : "") +
        "</p>";
    }
    // Of a few the list is read next: what marks each tells them apart.
    /** Whether why it is refused stands above already. @param {any} plan @returns {boolean} */
    function isToldOfAll(plan) {
      return found.reasons.some(function (/** @type {any} */ reason) {
        return plan.reasons.length > 0 && reason.text === plan.reasons[0].text;
      });
    }
    var rows = found.members.map(function (/** @type {any} */ one) {
      var plan = one.plan,
        allow = plan.verdict === "cannot_serve" ? null : allowed(plan);
      var as = need_first && SERVES.indexOf(plan.verdict) >= 0 ? "ask_first" : shownAs(plan); // no yes before it is known
      // The port that the way ends in: a port for direct current alone has another beside it.
      var inlet = plan.path ? plan.path.inlet : one.inlet;
      var port =
        ' <span class="n">' +
        esc(
          (inlet && words.classes[one.id][2].length > 1 ? words.inlets[inlet][0] + ", " : "") +
            built(words.classes[one.id])
        ) +
        "</span>";
      return [
        '<button type="button" class="pick" data-set="' +
          esc("class=" + one.id) +
          '" data-port="' +
          esc(one.inlet) +
          '">' +
          esc(words.classes[one.id][0]) +
          "</button>" +
          port,
        '<span class="v">' + icon(as) + esc(words.verdicts[as]) + "</span>",
        usual
          ? plan.miles_added_per_hour === undefined || !given.air // no rate to take for that of a cold day
            ? "–"
            : f(plan.miles_added_per_hour)
          : allow === null || need_first || openDanger(call).length
            ? "–"
            : f(inHours(allow)),
        (isToldOfAll(plan) ? "" : because(plan, found.of_all)) +
          (state.many ? "" : '<span class="n lk">' + esc(words.classes[one.id][10].join(" ")) + "</span>"),
      ];
    });
    var list = part(
      "which",
      "It may be",
      table(
        "Classes that it may be: touch one to choose it",
        [
          ["Class: touch it if it is this one", false],
          ["Verdict", false],
          [usual ? "Miles added per hour" : "Allow", true],
          ["Why, or what to ask; what marks it", false],
        ],
        rows,
        undefined,
        true
      )
    );
    sums += toldBy(given, choices, true);
    return html + (state.many ? sums + list : list + sums);
  }

  /**
   * A question about the vehicle without the answers that its squares name.
   * @param {{code: string, question: string}} ask
   * @returns {string}
   */
  function inShort(ask) {
    return /^ask_(body|built|battery)$/.test(ask.code) ? ask.question.replace(/: .*[?]$/, "?") : ask.question;
  }

  /** Which of the cases are served, in words. @param {any} found an envelope @returns {string} */
  function servedOfMany(found) {
    if (found.served === found.members.length) return "whichever it is";
    return found.served + " of the " + found.members.length + " cases";
  }

  /** What is to be allowed for several classes, as shown. @param {any} found an envelope @returns {string} */
  function allowOfMany(found) {
    var high = found.ends.high;
    return high === null ? "open how long at most" : "allow " + inHours(atMost(high));
  }

  /**
   * @param {any} found an envelope
   * @param {Call} call
   * @param {Object<string, string>} given
   * @param {string} likely the first word
   * @returns {string}
   */
  function minutesOfMany(found, call, given, likely) {
    return (
      likely +
      fromTo(found.likely) +
      " on site" +
      (given.air ? ", " : " at " + look.words().airs[call.ambient] + ", ") +
      allowOfMany(found)
    );
  }

  /** @param {[number, number]} range minutes @returns {string} */
  function fromTo(range) {
    return (range[0] === range[1] ? "" : inHours(range[0]) + " to ") + inHours(range[1]);
  }

  /**
   * What several classes come to, in a line or two: minutes of those that are served, miles of those that do not get
   * there. Empty where nobody has asked what for: minutes of a stay that nobody wants are none to promise.
   * @param {any} found an envelope
   * @param {Call} call
   * @param {Object<string, string>} given
   * @returns {string[]}
   */
  function inBrief(found, call, given) {
    if (!found.served || call.need.kind === "usual") return [];
    var words = look.words();
    var all = found.members.length,
      allow = allowOfMany(found);
    var at = given.air ? "" : "at " + words.airs[call.ambient] + " ";
    var minutes = at + about(found.likely) + ", " + allow + ".";
    if (found.served === all) return ["Whichever it is: " + minutes];
    /** @param {string} verdict @returns {any[]} */
    function those(verdict) {
      return found.members.filter(function (/** @type {any} */ one) {
        return verdict === "yes" ? /^serve/.test(one.plan.verdict) : one.plan.verdict === verdict;
      });
    }
    /** One of many by its name, as far as that tells it from the others. @param {any[]} some @returns {string} */
    function who(some) {
      if (some.length !== 1) return "";
      var one = some[0];
      // A class that may have one port or another is a case with each of them.
      var port = found.members.filter(function (/** @type {any} */ other) {
        return other.id === one.id;
      });
      if (port.length > 1) return words.classes[one.id][0] + " with " + words.inlets[one.inlet][0] + ", ";
      var names = found.members.map(function (/** @type {any} */ one) {
        return shortName(one.id);
      });
      var name = shortName(one.id);
      return (names.indexOf(name) === names.lastIndexOf(name) ? name : words.classes[one.id][0]) + ", ";
    }
    var yes = those("yes"),
      tries = those("try"),
      maybe = those("ask_first"),
      no = those("cannot_serve");
    /** @type {Array<[number, string]>} */
    var lines = yes.length ? [[yes.length, " yes: " + who(yes) + minutes]] : [];
    if (tries.length) lines.push([tries.length, " to try: " + who(tries) + (yes.length ? "see below." : minutes)]);
    if (maybe.length) {
      var sure = maybe.length === 1 && maybe[0].plan.ask.code === "need_not_sure"; // of how many cases, its row says
      lines.push([maybe.length, " maybe: " + who(maybe) + (sure ? "could fall short." : "ask, as its row says.")]);
    }
    if (no.length) {
      var short = no.filter(isTooFar),
        miles = short.map(fullMiles);
      lines.push([
        no.length,
        " no: " +
          who(no) +
          (short.length === no.length && call.need.value
            ? "even full, " + between([Math.min.apply(null, miles), Math.max.apply(null, miles)]) + " mi today."
            : "see below."),
      ]);
    }
    return mostFirst(
      lines.map(function (line) {
        return [line[0], line[0] + line[1]];
      })
    ).map(function (line, at) {
      return at ? line : line.replace(/^\d+/, "$& of " + all); // said once, of how many
    });
  }

  /**
   * Texts by how many cases each is of, the most first, like ones as they come; none that is of no case.
   * @param {Array<[number, string]>} parts
   * @returns {string[]}
   */
  function mostFirst(parts) {
    return parts
      .filter(function (part) {
        return part[0] > 0;
      })
      .map(function (part, at) {
        return { many: part[0], text: part[1], at: at };
      })
      .sort(function (a, b) {
        return b.many - a.many || a.at - b.at;
      })
      .map(function (one) {
        return one.text;
      });
  }

  /**
   * Likely minutes of several as they are said: half hours from two hours on.
   * @param {[number, number]} range
   * @returns {string}
   */
  function about(range) {
    var texts = range.map(function (minutes) {
      if (minutes < 120) return minutes + " min";
      var halves = Math.round(minutes / 30);
      return Math.floor(halves / 2) + (halves % 2 ? "\u00bd h" : " h");
    });
    return "about " + (texts[0] === texts[1] ? texts[0] : texts.join(" to "));
  }

  /** A class without what stands behind its name. @param {string} id @returns {string} */
  function shortName(id) {
    return look.words().classes[id][0].split(",")[0];
  }

  /** Whether the way alone is what refuses one of several. @param {any} one @returns {boolean} */
  function isTooFar(one) {
    return one.plan.verdict === "cannot_serve" && one.plan.reasons[0].code === "need_exceeds_battery";
  }

  /** The miles that a full battery of one of several makes in nine of ten cases. @param {any} one @returns {number} */
  function fullMiles(one) {
    return Math.floor(one.plan.found.target.most_mi);
  }

  /**
   * Where some do not get so far: the way to the question for a charger that is nearer.
   * @param {any} found an envelope
   * @param {Call} call
   * @returns {string}
   */
  function nearer(found, call) {
    var short = found.members.filter(isTooFar);
    if (!short.length || call.need.kind !== "home") return "";
    var miles = Math.min.apply(null, short.map(fullMiles));
    return '<a class="sq" href="#charger" data-go="charger">A fast charger within ' + miles + " mi?</a>";
  }

  /**
   * What is asked once it has been said what it comes to, set apart from it: what tells them apart, and what to see to.
   * @param {any[]} members the cases to be told apart by a few words each, none where a question does it
   * @param {string} charger a finished square, or empty
   * @param {string} warm a finished paragraph, or empty
   * @returns {string}
   */
  function thenAsk(members, charger, warm) {
    if (!members.length && !charger && !warm) return "";
    var words = look.words(),
      classes = words.classes;
    var told = members.map(function (one) {
      // A class that may have one port or another is a case with each of them.
      var twice = members.some(function (other) {
        return other !== one && other.id === one.id;
      });
      return (
        '<button type="button" class="sq" data-set="' +
        esc("class=" + one.id) +
        '" data-port="' +
        esc(one.inlet) +
        '"><span>' +
        esc(classes[one.id][11] || shortName(one.id)) +
        "<small>" +
        esc(shortName(one.id) + (twice ? " with " + words.inlets[one.inlet][0] : "") + ", " + built(classes[one.id])) +
        "</small></span></button>"
      );
    });
    return (
      '<div class="th">' +
      (told.length
        ? '<p class="np"><b>Then ask which it is:</b></p><div class="o ol hear np">' +
          told.join("") +
          '<a class="sq" href="#which"><span>Nobody can tell: see each below</span></a></div>'
        : "") +
      (charger ? '<div class="o np">' + charger + "</div>" : "") +
      warm +
      "</div>"
    );
  }

  /**
   * The same for the bar: how many of which, and nothing of minutes that hang on what nobody asked.
   * @param {any} found an envelope
   * @param {Object<string, string>} given
   * @param {Call} call
   * @returns {string}
   */
  function counts(found, call, given) {
    if (!found.served || call.need.kind === "usual") return "";
    var open = [];
    if (call.dash.kind === "unknown") open.push("dash");
    if (!given.air) open.push("air");
    var maybe = found.members.length - found.served - found.refused;
    var tries = found.members.filter(function (/** @type {any} */ one) {
      return one.plan.verdict === "try";
    }).length;
    var allow = !open.length && manyOf(found, call, given).lines.length ? allowOfMany(found) : "";
    var yes = found.served - tries;
    // In the order of the sum: what most of them come to stands first.
    var told =
      found.served === found.members.length
        ? [allow]
        : mostFirst([
            [yes, yes + " yes" + (yes && allow ? ", " + allow : "")],
            [tries, tries + " to try" + (yes || !allow ? "" : ", " + allow)],
            [maybe, maybe + " maybe"],
            [found.refused, found.refused + " no"],
          ]);
    if (open.length) told.push(open.join(", ") + " not asked");
    return told.filter(Boolean).join(", ");
  }

  /** @param {string[]} lines @returns {string} */
  function brief(lines) {
    return lines
      .map(function (line) {
        // A figure stays with its unit.
        return '<p class="lead br"><b>' + esc(line.replace(/([\d\u00bd]) (h|min|mi)\b/g, "$1\u00a0$2")) + "</b></p>";
      })
      .join("");
  }

  /**
   * The head over several classes; beside it the bar says the same.
   * @param {any} found an envelope
   * @param {Call} call
   * @param {Object<string, string>} given
   * @returns {string}
   */
  function headOfMany(found, call, given) {
    var words = look.words(),
      state = manyOf(found, call, given);
    if (state.need_first && !chargesAll(found)) return words.verdicts.ask_first;
    if (state.need_first)
      return call.need.kind === "usual" || look.inMiles(call.need)
        ? POSSIBLE_NOW
        : POSSIBLE_NOW.replace(" how far", "");
    if (state.firm_first)
      return chargesAll(found) &&
        found.verdict !== "try" &&
        !(found.of_all && isDanger(found.ask) && call.condition.unknown)
        ? possible(call)
        : words.verdicts.ask_first;
    if (found.verdict === "serve_with_changes") return "Yes, once it is known which";
    if (found.verdict === "ask_first" && (found.refused || !found.ask)) return "Depends on which";
    return words.verdicts[found.verdict];
  }

  /** Whether each of several can be charged, whatever else is open. @param {any} found @returns {boolean} */
  function chargesAll(found) {
    return found.members.every(function (/** @type {any} */ one) {
      return one.plan.charges;
    });
  }

  /**
   * What of several classes is asked and told now; page and bar go by the same.
   * @param {any} found an envelope
   * @param {Call} call
   * @param {Object<string, string>} given
   * @returns {{gated: boolean, firm_first: boolean, need_first: boolean, easy: boolean, many: boolean, left: boolean, lines: string[]}}
   */
  function manyOf(found, call, given) {
    // Nothing to act on before danger is known, if some of them alone are served; nor before what all of them ask.
    var gated = openDanger(call).length > 0 && !found.of_all && found.verdict !== "cannot_serve";
    var firm_first = found.of_all || gated;
    // A need that is known in part is asked to its end, whatever it comes to till then.
    var begun = found.verdict === "ask_first" && call.need.kind !== "usual";
    var need_first = !firm_first && Boolean(firstOpen(call, given)) && (begun || /^serve/.test(found.verdict));
    var many = found.members.length > BRIEF_MOST && Boolean(found.ask),
      left = Boolean(found.ask) && !need_first;
    // One thing at a time: it is summed up where no question is left, or where it holds whichever it is.
    var quiet = firm_first || need_first || many || (left && found.served < found.members.length);
    return {
      gated: gated,
      firm_first: firm_first,
      need_first: need_first,
      easy: need_first && Boolean(found.ask) && /^ask_(port|body|fuel_door)$/.test(found.ask.code),
      many: many,
      left: left,
      lines: quiet ? [] : inBrief(found, call, given),
    };
  }

  /**
   * The first question that minutes hang on and nobody has asked; empty where there is none.
   * @param {Call} call
   * @param {Object<string, string>} given
   * @returns {string}
   */
  function firstOpen(call, given) {
    if (call.need.kind === "usual") return NEED_FIRST;
    if (look.inMiles(call.need) && !given.climb) return CLIMB_FIRST;
    return given.air ? "" : AIR_FIRST; // of a dash that nobody can read the page says what it takes for it
  }

  /**
   * One way to all of it that nobody has asked, from the first row of the form to the last.
   * @param {Call} call
   * @param {Object<string, string>} given
   * @returns {string}
   */
  function farFirst(call, given) {
    var usual = call.need.kind === "usual";
    /** @type {Array<[string, string]>} */
    var open = [];
    if (call.dash.kind === "unknown") open.push(["percent", "dash"]);
    if (usual) open.push(["home", "miles"]);
    if ((usual || look.inMiles(call.need)) && !given.climb) open.push(["climb", "climb"]);
    if (!given.air) open.push(["air", "cold"]);
    var rows = open.map(function (one) {
      return one[0];
    });
    var names = open.map(function (one) {
      return one[1];
    });
    var text = names.join(", ");
    return (
      '<a class="sq" href="#' +
      rows[0] +
      '" data-go="' +
      rows[0] +
      '" data-rows="' +
      rows.join(" ") +
      '">' +
      text.charAt(0).toUpperCase() +
      text.slice(1) +
      "</a>"
    );
  }

  /** The years of a class. @param {any} item @returns {string} */
  function built(item) {
    return "built " + item[3] + (item[4] === 9999 ? " and later" : " to " + item[4]);
  }

  /**
   * Why one of a list cannot be served, or what is to be asked of it, in a sentence: the rest is told with its class.
   * @param {any} plan
   * @param {boolean} asked whether the question stands above already
   * @returns {string}
   */
  function because(plan, asked) {
    var asks = plan.verdict === "ask_first" && !asked;
    if (plan.verdict !== "cannot_serve" && !asks) return "";
    // Whether it gets there is told, not asked: the ways that would do are told with the class.
    var text = asks && plan.ask.code !== "need_not_sure" ? plan.ask.question : plan.reasons[0].text;
    return '<span class="n">' + esc((/^.*?[.?](?= |$)/.exec(text) || [text])[0]) + "</span>";
  }

  /** @param {string[]} things @returns {string[]} */
  function unique(things) {
    return things.filter(function (thing, at) {
      return things.indexOf(thing) === at;
    });
  }

  /** @param {[number, number]} range @returns {string} */
  function between(range) {
    return range[0] === range[1] ? String(range[0]) : range[0] + " to " + range[1];
  }

  /**
   * The rigs beside each other, for the same call.
   * @param {Array<{rig: any, plan: any}>} others
   * @param {string} chosen
   * @param {any} words
   * @returns {string}
   */
  function rigs(others, chosen, words) {
    var on = others.findIndex(function (one) {
      return one.rig.rig === chosen;
    });
    var rows = others.map(function (one) {
      var plan = one.plan,
        allow = plan.verdict === "cannot_serve" || openDanger(plan.found.call).length ? null : allowed(plan);
      var verdict = shownAs(plan);
      var set = plan.setting && verdict !== "cannot_serve" && verdict !== "ask_first";
      return [
        '<button type="button" class="pick" data-set="' +
          esc("rig=" + one.rig.rig) +
          '">' +
          esc(one.rig.name) +
          "</button>",
        '<span class="v">' + icon(verdict) + esc(words.verdicts[verdict]) + "</span>",
        set ? f(marks(plan.setting)) : "–",
        allow === null ? "–" : f(inHours(allow)),
        because(plan, true),
      ];
    });
    return part(
      "others",
      "Every rig for this call",
      table(
        "Every rig for this call: touch one to choose it",
        [
          ["Rig: touch it to choose it", false],
          ["Verdict", false],
          ["Mark", true],
          ["Allow", true],
          ["Why", false],
        ],
        rows,
        on,
        true
      )
    );
  }

  /**
   * The line that a screen reader says.
   * @param {Shown} shown
   * @returns {string}
   */
  function news(shown) {
    var plan = shown.plan,
      words = shown.words;
    var head = words.verdicts[plan.verdict];
    if (isGated(plan) || (plan.verdict === "ask_first" && openDanger(shown.call).length))
      return words.verdicts.ask_first + ". " + notAsked(shown.call) + ".";
    if (plan.verdict === "ask_first") return spoken(headOfAsking(plan, words, shown.call)) + ": " + plan.ask.question;
    if (plan.verdict === "cannot_serve")
      return (calls911(plan.reasons) ? "Call 911. " : "") + head + ": " + plan.reasons[0].text;
    if (!plan.session) return head + ".";
    var allow = allowed(plan);
    return (
      head +
      (starts(plan.setting)
        ? ". Plug in at mark " + plan.setting.start_mark + ", then up to mark "
        : ". Turn to mark ") +
      plan.setting.mark +
      ", read back " +
      sheet.amps(plan.setting.read_back_a) +
      ". " +
      (allow === null ? "Open how long at most" : "Allow " + inHours(allow) + " on site") +
      ". " +
      plan.miles_added_per_hour +
      " miles added per hour plugged in."
    );
  }

  /** Whether a charge begins at another mark. @param {any} setting @returns {boolean} */
  function starts(setting) {
    return Boolean(setting.start_mark) && setting.start_mark !== setting.mark;
  }

  /** The mark to plug in at and the one to go up to, where they differ. @param {any} setting @returns {string} */
  function marks(setting) {
    return starts(setting) ? setting.start_mark + ", then " + setting.mark : setting.mark;
  }

  /** The amps behind a mark: the unit alone where the mark is the amps. @param {any} setting @returns {string} */
  function afterMark(setting) {
    var amps = sheet.amps(setting.output_a);
    return amps === setting.mark + " A" ? " A" : ", " + amps;
  }

  /** @param {Shown} shown @returns {string} */
  function bar(shown) {
    var plan = shown.plan,
      words = shown.words;
    var verdict = shownAs(plan);
    var allow = verdict === "cannot_serve" || verdict === "ask_first" ? null : allowed(plan);
    var open = [];
    if (shown.call.dash.kind === "unknown") open.push("dash");
    if (shown.call.need.kind === "usual") open.push("need");
    var guessed = open.length > 0; // minutes that hang on a dash or a need nobody asked are no minutes to promise
    if (!shown.given.air) open.push("air");
    var why_not =
      verdict === "cannot_serve"
        ? (calls911(plan.reasons) ? "Call 911. " : "") + plan.reasons[0].text
        : verdict === "ask_first"
          ? openDanger(shown.call).length
            ? notAsked(shown.call)
            : plan.ask.question
          : "";
    return (
      '<span class="v">' +
      icon(verdict) +
      esc(words.verdicts[verdict]) +
      "</span>" +
      barWhy(why_not) +
      (allow === null
        ? ""
        : (guessed ? "" : "<span>allow " + f(inHours(allow)) + "</span>") +
          (plan.reasons.some(isTow) ? "<b>a tow may be quicker</b>" : "") +
          "<span>turn to " +
          f(marks(plan.setting)) +
          esc(afterMark(plan.setting)) +
          "</span>" +
          (open.length ? "<b>" + open.join(", ") + " not asked</b>" : ""))
    );
  }

  /** Why it is no yes, on one line. @param {string} text @returns {string} */
  function barWhy(text) {
    return text ? '<span class="bw">' + esc(text) + "</span>" : "";
  }

  rangeferry.answer = {
    barWhy: barWhy,
    call911: call911,
    calls911: calls911,
    built: built,
    headOfMany: headOfMany,
    spoken: spoken,
    manyOf: manyOf,
    counts: counts,
    inShort: inShort,
    toldBy: toldBy,
    firstOpen: firstOpen,
    DASH_FIRST: DASH_FIRST,
    whole: whole,
    envelope: envelope,
    rigs: rigs,
    news: news,
    bar: bar,
    answers: answers,
    openDanger: openDanger,
    notAsked: notAsked,
    esc: esc,
    block: block,
    atMost: atMost,
    atLeast: atLeast,
    allowed: allowed,
    inHours: inHours,
    icon: icon,
  };
})();
