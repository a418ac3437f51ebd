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
  function add(table) {
    table.battery_wh = sums(table.battery_wh);
    table.rates.forEach(function (rate) {
      rate.seconds = sums(rate.seconds);
      rate.inlet_wh = sums(rate.inlet_wh);
    });
    classes[table.class] = table;
  }

  // The smallest whole percent whose energy covers the road above the reserve; 101 where a full battery does not.
  function target(table, need) {
    if (need.to !== undefined) return need.to;
    var needed = table.battery_wh[need.reserve] + Math.ceil((need.miles * table.wh_per_10_miles) / 10);
    for (var percent = 0; percent <= 100; percent += 1) {
      if (table.battery_wh[percent] >= needed) return percent;
    }
    return 101;
  }

  function session(table, rate, supply, fuel, start, percent) {
    var seconds = rate.seconds[percent] - rate.seconds[start];
    var inlet = rate.inlet_wh[percent] - rate.inlet_wh[start];
    var source =
      Math.ceil((inlet * rate.power_source_kw) / rate.power_inlet_kw) +
      Math.ceil((supply.other_loads_w * seconds) / 3600);
    var found = {
      percent: percent,
      seconds: seconds,
      battery_wh: table.battery_wh[percent] - table.battery_wh[start],
      meter_wh: Math.ceil((inlet * rate.power_meter_kw) / rate.power_inlet_kw),
      stops: 0,
    };
    if (supply.battery) {
      var given = source / 1000 / supply.battery.efficiency;
      found.enough = given <= supply.battery.energy_usable_kwh * (1 - supply.battery.soc_floor);
      return found;
    }
    var line = supply.fuels[fuel];
    var minutes = supply.minutes;
    var idle = (minutes.warm_up + minutes.handshake + minutes.cool_down) / 60;
    var energy = source / 1000 + (supply.other_loads_w / 1000) * idle;
    var used = line.no_load_l_per_h * (seconds / 3600 + idle) + line.slope_l_per_kwh * energy;
    found.enough = used <= line.tank_l + line.spare_l;
    found.stops = line.tank_l ? Math.max(Math.ceil((used - line.tank_l) / line.tank_l), 0) : 0;
    return found;
  }

  function onSite(supply, found) {
    var minutes = supply.minutes;
    var engine = supply.battery ? 0 : 1;
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

  // call: class, rig, fuel, altitude and ambient as steps, start, need {to} or {miles, reserve}.
  function answer(call) {
    var table = classes[call.class];
    var rig = table.rigs[call.rig];
    var outcome = rig.outcomes[rig.grid[call.fuel || "battery"][call.altitude][call.ambient]];
    if (outcome.refused) return { verdict: "cannot_serve", code: outcome.refused };
    var rate = table.rates[outcome.rate];
    var result = { mark: outcome.mark, miles_added_per_hour: rate.miles_added_per_hour };
    var goal = target(table, call.need);
    if (goal > 100) return ended(result, table.engine ? "ask_first" : "cannot_serve", "need_exceeds_battery");
    if (goal <= call.start) return ended(result, "ask_first", "need_already_met");
    var found = session(table, rate, rig.supply, call.fuel, call.start, goal);
    var short = !found.enough;
    while (!found.enough && found.percent > call.start + 1) {
      found = session(table, rate, rig.supply, call.fuel, call.start, found.percent - 1);
    }
    if (!found.enough) return ended(result, "cannot_serve", "source_empty");
    result.target = found.percent;
    result.minutes_charging = Math.ceil(found.seconds / 60);
    result.minutes_on_site = onSite(rig.supply, found);
    result.battery_wh = found.battery_wh;
    result.meter_wh = found.meter_wh;
    return short ? ended(result, "ask_first", "source_short") : ended(result, outcome.verdict, outcome.code);
  }

  function ended(result, verdict, code) {
    result.verdict = verdict;
    result.code = code;
    return result;
  }

  return { add: add, answer: answer };
})();
