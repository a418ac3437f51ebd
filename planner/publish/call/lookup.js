// Answers a call for one class from whole numbers that the planner published. No physics: it looks up, adds, subtracts,
// divides and rounds up, in the planner's own order, so that its answer is the planner's. Classic script, so that it
// also runs in a page opened from a folder.
var rangeferry = (function () {
  "use strict";

  var classes = {};

  // Differences to cumulative values: whole numbers, so the sums are exact.
  function sums(steps) {
    var total = 0;
    return steps.map(function (step) {
      total += step;
      return total;
    });
  }

  // A class's table calls this as it loads.
  function add(data) {
    data.battery_wh = sums(data.battery_wh);
    data.tables.forEach(function (table) {
      table.seconds = sums(table.seconds);
      table.inlet_wh = sums(table.inlet_wh);
    });
    classes[data.class] = data;
  }

  // The whole watt-hours of the road asked about: ten miles of it, and its hills.
  function roadOf(data, call) {
    var drive = data.road.drive_wh[call.speed][call.altitude][call.ambient];
    var cabin = data.road.cabin_wh[call.speed][call.ambient];
    var share = Math.floor((100 * cabin) / (drive + cabin));
    return {
      wh: drive + cabin,
      hills: Math.ceil((call.climb_ft * data.road.climb_wh_per_100ft) / 100),
      permille: data.road.percent_permille[share],
    };
  }

  // The smallest whole percent that holds so many watt-hours; 101 where a full battery does not.
  function percentFor(data, needed) {
    for (var percent = 0; percent <= 100; percent += 1) {
      if (data.battery_wh[percent] >= needed) return percent;
    }
    return 101;
  }

  // Where the charge must go, and what the road typically takes with the reserve that was asked for.
  function target(data, need, road) {
    if (need.to !== undefined) return { goal: need.to, typical: need.to };
    var typical = Math.ceil((need.miles * road.wh) / 10) + road.hills;
    var reserve = data.battery_wh[need.reserve === undefined ? 10 : need.reserve];
    var kept = percentFor(data, typical + reserve);
    var sure = percentFor(data, Math.ceil((typical * road.permille) / 1000));
    return { goal: Math.max(kept, sure), typical: need.reserve ? kept : percentFor(data, typical) };
  }

  // A value of a session between two percents, the cold start included.
  function between(sums, cold, offset, start, percent) {
    var steady = sums[percent] - sums[start];
    var gained = percent - start;
    if (!cold || gained <= 0) return steady;
    return gained <= cold.length ? Math.max(cold[gained - 1], steady) : steady + offset;
  }

  function session(data, rate, supply, call, start, percent) {
    var table = data.tables[rate.table];
    var cold = rate.cold === undefined ? {} : data.cold[rate.cold];
    var seconds = between(table.seconds, cold.seconds, cold.offset_s, start, percent);
    var inlet = between(table.inlet_wh, cold.inlet_wh, cold.offset_wh, start, percent);
    var source =
      Math.ceil((inlet * rate.source_ppm) / 1000000) +
      Math.ceil((supply.other_loads_w * seconds) / 3600);
    var found = {
      percent: percent,
      seconds: seconds,
      battery_wh: data.battery_wh[percent] - data.battery_wh[start],
      meter_wh: Math.ceil((inlet * rate.meter_ppm) / 1000000),
      stops: 0,
    };
    if (supply.battery) {
      var given = source / 1000 / supply.battery.efficiency;
      found.enough = given <= supply.battery.spendable_kwh[call.ambient];
      return found;
    }
    if (!supply.fuels) {
      found.enough = true;
      return found;
    }
    var line = supply.fuels[call.fuel];
    var minutes = supply.minutes;
    var idle = (minutes.warm_up + minutes.handshake + minutes.cool_down) / 60;
    var energy = source / 1000 + (supply.other_loads_w / 1000) * idle;
    var used = line.no_load_l_per_h * (seconds / 3600 + idle) + line.slope_l_per_kwh * energy;
    var hour = line.no_load_l_per_h + line.slope_l_per_kwh * ((rate.source_w + supply.other_loads_w) / 1000);
    found.enough = used + Math.max(line.keep_l, hour) <= line.tank_l + line.spare_l;
    found.stops = line.tank_l ? Math.max(Math.ceil((used - line.tank_l) / line.tank_l), 0) : 0;
    return found;
  }

  function onSite(supply, found) {
    var minutes = supply.minutes;
    var engine = supply.fuels ? 1 : 0;
    return (
      Math.ceil(minutes.park) +
      engine * Math.ceil(minutes.warm_up) +
      Math.ceil(minutes.handshake) +
      Math.ceil(found.seconds / 60) +
      found.stops * Math.ceil(minutes.refuel_stop) +
      engine * Math.ceil(minutes.cool_down) +
      Math.ceil(minutes.pack_up)
    );
  }

  // call: class, rig, fuel, altitude, ambient and speed as steps, climb_ft, pack, start, need {to} or {miles, reserve}.
  function answer(call) {
    var data = classes[call.class];
    var rig = data.rigs[call.rig];
    var outcome = rig.outcomes[rig.grid[call.pack][call.fuel || "battery"][call.altitude][call.ambient]];
    if (outcome.refused) return { verdict: "cannot_serve", code: outcome.refused };
    var rate = data.rates[outcome.rate];
    var road = roadOf(data, call);
    var result = { mark: outcome.mark, miles_added_per_hour: Math.floor((10 * rate.power_battery_w) / road.wh) };
    var asked = target(data, call.need, road);
    var last = asked.goal > 100 ? Math.max(asked.typical, 98) : asked.goal;
    var miles = call.need.to === undefined;
    if (asked.typical > 100 || (asked.goal > 100 && last <= call.start)) {
      return ended(result, data.engine ? "ask_first" : "cannot_serve", "need_exceeds_battery");
    }
    if (asked.goal <= call.start) return ended(result, "ask_first", "need_already_met");
    var found = session(data, rate, rig.supply, call, call.start, last);
    var short = !found.enough;
    while (!found.enough && found.percent > call.start + 1) {
      found = session(data, rate, rig.supply, call, call.start, found.percent - 1);
    }
    if (!found.enough) {
      return outcome.ask ? ended(result, "ask_first", outcome.ask) : ended(result, "cannot_serve", "source_empty");
    }
    result.target = found.percent;
    result.minutes_charging = Math.ceil(found.seconds / 60);
    result.minutes_on_site = onSite(rig.supply, found);
    result.battery_wh = found.battery_wh;
    result.meter_wh = found.meter_wh;
    if (outcome.ask) return ended(result, "ask_first", outcome.ask);
    if (short) return ended(result, "ask_first", "source_short");
    if (asked.goal > 100) return ended(result, "ask_first", "need_not_sure");
    if (data.engine && miles) return ended(result, "ask_first", "ask_fuel_first");
    return ended(result, outcome.verdict, outcome.code);
  }

  function ended(result, verdict, code) {
    result.verdict = verdict;
    result.code = code;
    return result;
  }

  return { add: add, answer: answer };
})();
