// Reads a feed from standard input with ical.js and prints its events as JSON, or fails.
import ICAL from "ical.js";
let text = "";
for await (const part of process.stdin.setEncoding("utf8")) text += part;
const calendar = new ICAL.Component(ICAL.parse(text));
const events = calendar.getAllSubcomponents("vevent").map((item) => {
  const event = new ICAL.Event(item);
  return [event.uid, event.startDate.toString(), event.endDate.toString(), event.summary,
    event.description, item.getAllSubcomponents("valarm").length];
});
console.log(JSON.stringify(events));
