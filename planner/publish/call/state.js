// What the form holds, as the address of the page and as a call. Pure: it touches no page and asks nobody. An address
// carries what was answered and nothing else; it stands behind the `#`, which a browser never sends to a server.

(function () {
  "use strict";

  /**
   * The answers by the names of the form; an empty one was not asked.
   * @typedef {Object<string, string>} Answers
   */

  /**
   * What an address said: its answers, what of it could not be used, its form and the version of its data.
   * @typedef {{answers: Answers, left: Array<[string, string]>, form: string|null, data: string|null}} Said
   */

  var FORM = "1"; // of the address: what the names below mean
  // Each name with what it may hold: a list that the page offers, or whole numbers from and to.
  /** @type {Array<[string]|[string, number, number]>} */
  var FIELDS = [
    ["rig"],
    ["fuel"],
    ["class"],
    ["port"],
    ["body"],
    ["built"],
    ["battery"],
    ["door"],
    ["traffic"],
    ["danger"],
    ["at"],
    ["open"],
    ["people"],
    ["allowed"],
    ["quiet"],
    ["reach", 0, 200],
    ["dash"],
    ["percent", 0, 100],
    ["shown", 0, 999],
    ["bars", 0, 20],
    ["of", 1, 20],
    ["need"],
    ["home", 1, 999],
    ["charger", 1, 999],
    ["fits"],
    ["to", 1, 100],
    ["minutes", 1, 600],
    ["keep"],
    ["pack"],
    ["heat"],
    ["air"],
    ["height"],
    ["speed"],
    ["climb"],
    ["inside"],
    ["key"],
    ["v12"],
    ["tank"],
    ["own_tank"],
    ["own_cans"],
    ["own_charge"],
  ];
  var KNOWN = ["port", "body", "built", "battery", "door"];
  // What an answer stands for where it was not given: the form shows these as chosen.
  /** @type {Answers} */
  var USUAL = {
    dash: "unknown",
    of: "12",
    need: "usual",
    to: "80",
    minutes: "45",
    pack: "unknown",
    heat: "on",
    speed: "mixed",
  };
  var TOLD = 40; // letters of an unusable value that are told

  /** @returns {Answers} */
  function blank() {
    /** @type {Answers} */
    var answers = {};
    FIELDS.forEach(function (field) {
      answers[field[0]] = USUAL[field[0]] || "";
    });
    return answers;
  }

  /**
   * Whether a name may hold a value.
   * @param {[string]|[string, number, number]} field
   * @param {string} value
   * @param {Object<string, string[]>} offered
   * @returns {boolean}
   */
  function allowed(field, value, offered) {
    if (field.length === 1) return (offered[field[0]] || []).indexOf(value) >= 0;
    return /^\d{1,3}$/.test(value) && Number(value) >= field[1] && Number(value) <= field[2];
  }

  /**
   * The answers as the part of an address behind its `#`.
   * @param {Answers} answers
   * @param {string} data the version of the data
   * @returns {string}
   */
  function encode(answers, data) {
    var parts = new URLSearchParams();
    parts.set("v", FORM);
    parts.set("d", data);
    FIELDS.forEach(function (field) {
      var name = field[0],
        value = (name === "need" ? needOf(answers) : answers[name]) || "";
      if (value && value !== (USUAL[name] || "") && counts(answers, name)) parts.set(name, value);
    });
    return parts.toString();
  }

  /**
   * Whether a value is of use beside the other answers: the miles of a dash that shows percent are not.
   * @param {Answers} answers
   * @param {string} name
   * @returns {boolean}
   */
  function counts(answers, name) {
    var dash = dashOf(answers),
      need = needOf(answers);
    if (name === "dash") return dashOf(answers) !== "unknown";
    if (name === "percent") return dash === "percent";
    if (name === "shown") return dash === "miles";
    if (name === "bars" || name === "of") return dash === "bars";
    if (name === "need") return need !== "usual";
    if (name === "to") return need === "to";
    if (name === "minutes") return need === "minutes";
    if (name === "fits") return need === "charger";
    if (name === "home" || name === "charger" || name === "reach") return amount(answers, name) !== null;
    if (name === "keep") return need === "home" || need === "charger";
    if (answers["class"] && KNOWN.indexOf(name) > 0) return false; // a class is more than its body; its port is not
    return true;
  }

  /**
   * What the part of an address behind its `#` says.
   * @param {string} text
   * @param {Object<string, string[]>} offered the values that the page offers, by name
   * @returns {Said}
   */
  function decode(text, offered) {
    var given = new URLSearchParams(text.replace(/^#/, "")),
      answers = blank();
    /** @type {Array<[string, string]>} */
    var left = [];
    FIELDS.forEach(function (field) {
      var value = given.get(field[0]);
      if (value === null || value === "") return;
      var once = given.getAll(field[0]).length === 1;
      if (once && allowed(field, value, offered)) {
        answers[field[0]] = value;
        return;
      }
      left.push([field[0], value.length > TOLD ? value.slice(0, TOLD) + "..." : value]);
      // A danger that these pages cannot read is one all the same.
      if (field[0] === "danger") answers.danger = "unknown";
    });
    given.forEach(function (_, name) {
      var ours =
        name === "v" ||
        name === "d" ||
        FIELDS.some(function (field) {
          return field[0] === name;
        });
      if (!ours) left.push([name.slice(0, TOLD), ""]);
    });
    return { answers: answers, left: left, form: given.get("v"), data: given.get("d") };
  }

  /**
   * @param {string} text
   * @returns {number|null}
   */
  function number(text) {
    return /^\d{1,3}$/.test(text) ? Number(text) : null;
  }

  /**
   * A number of the form, null where it is empty or none that the name may hold.
   * @param {Answers} answers
   * @param {string} name
   * @returns {number|null}
   */
  function amount(answers, name) {
    var field = /** @type {[string, number, number]} */ (
      FIELDS.filter(function (one) {
        return one[0] === name;
      })[0]
    );
    return allowed(field, answers[name] || "", {}) ? Number(answers[name]) : null;
  }

  /**
   * What the dash is taken to show: a kind whose number is missing, or of more bars than there are, was not told.
   * @param {Answers} answers
   * @returns {string}
   */
  function dashOf(answers) {
    var dash = answers.dash;
    if (dash === "percent" && amount(answers, "percent") === null) return "unknown";
    if (dash === "miles" && amount(answers, "shown") === null) return "unknown";
    if (dash === "bars") {
      var bars = amount(answers, "bars"),
        of = amount(answers, "of");
      if (bars === null || of === null || bars > of) return "unknown";
    }
    return dash;
  }

  /**
   * Which need the answers come to: miles that were given are wanted where nothing else is.
   * @param {Answers} answers
   * @returns {string}
   */
  function needOf(answers) {
    var home = amount(answers, "home"),
      charger = amount(answers, "charger"),
      need = answers.need;
    // A kind whose number is missing was not told; miles that were are then the next best word.
    if (need === "home" && home === null) need = "usual";
    if (need === "charger" && charger === null) need = "usual";
    if ((need === "to" || need === "minutes") && amount(answers, need) === null) need = "usual";
    if (need === "usual" && home !== null) return "home";
    if (need === "usual" && charger !== null) return "charger";
    return need;
  }

  /**
   * The answers as a call for one class and one rig.
   * @param {Answers} answers
   * @param {string} id of the class
   * @param {string} inlet the port that is taken for it, empty where nobody has said
   * @param {any} rig its table
   * @param {any} words
   * @returns {Call}
   */
  function callOf(answers, id, inlet, rig, words) {
    var need = needOf(answers),
      dash = dashOf(answers),
      fuels = rig.supply.fuels,
      danger = answers.danger;
    var home = amount(answers, "home"),
      charger = amount(answers, "charger");
    /** @type {Array<[string, number]>} */
    var places = [];
    if (home !== null && need !== "home") places.push(["home", home]);
    if (charger !== null && need !== "charger") places.push(["the charger", charger]);
    var values = { home: home, charger: charger, to: number(answers.to), minutes: number(answers.minutes) };
    var shown = { percent: answers.percent, miles: answers.shown, bars: answers.bars }[dash];
    return {
      rig: rig.rig,
      class: id,
      inlet: inlet,
      fuel: fuels && answers.fuel in fuels ? answers.fuel : rig.default_fuel,
      ambient: answers.air === "" ? rig.usual[0] : words.ambient_steps_f.indexOf(Number(answers.air)),
      altitude: answers.height === "" ? rig.usual[1] : words.altitude_steps_ft.indexOf(Number(answers.height)),
      pack: answers.pack,
      dash: { kind: dash, value: number(shown || "") || 0, of: number(answers.of) || 12 },
      need: {
        kind: need,
        value: need === "usual" ? 0 : /** @type {any} */ (values)[need] || 0,
        reserve: answers.keep === "" || !/home|charger/.test(need) ? null : Number(answers.keep),
        fits: answers.fits === "" ? null : answers.fits === "yes",
      },
      places: places,
      speed: words.speed_steps_mph.indexOf(answers.speed === "mixed" ? null : Number(answers.speed)),
      climb_ft: Number(answers.climb),
      heat: answers.heat !== "off",
      tank: answers.tank === "" ? null : answers.tank === "yes",
      place: {
        kind: answers.at,
        openings: answers.open,
        people: answers.people,
        traffic: answers.traffic,
        permission: answers.allowed,
        quiet: answers.quiet,
        distance_ft: amount(answers, "reach"),
      },
      condition: {
        danger: danger === "" || danger === "unknown" ? null : danger === "none" ? [] : [danger],
        unknown: danger === "unknown",
        port: answers.inside,
        twelve_volt: answers.v12,
        key: answers.key,
      },
      own: { tank: number(answers.own_tank), cans: number(answers.own_cans), charge: number(answers.own_charge) },
    };
  }

  rangeferry.state = {
    FORM: FORM,
    KNOWN: KNOWN,
    blank: blank,
    encode: encode,
    decode: decode,
    callOf: callOf,
    needOf: needOf,
    names: FIELDS.map(function (field) {
      return field[0];
    }),
  };
})();
