// Times as people of the district read them: always with the day's name, and with the zone by which they are meant. Dates
// are cut by the unit's zone, never by the reader's.
const formats = {
  clock: { hour: '2-digit', minute: '2-digit' },
  zone: { timeZoneName: 'short' },
  date: { year: 'numeric', month: '2-digit', day: '2-digit' },
} satisfies Record<string, Intl.DateTimeFormatOptions>;
const formatters = new Map<string, Intl.DateTimeFormat>();

function parts(at: string | Date, zone: string, format: keyof typeof formats): Record<string, string> {
  const key = `${format} ${zone}`;
  let found = formatters.get(key);
  if (!found) formatters.set(key, (found = new Intl.DateTimeFormat('en-AU', { ...formats[format], timeZone: zone, hourCycle: 'h23' })));
  return Object.fromEntries(found.formatToParts(new Date(at)).map((p) => [p.type, p.value]));
}

// "10:00"
export function clock(at: string | Date, zone: string): string {
  const p = parts(at, zone, 'clock');
  return `${p.hour}:${p.minute}`;
}

// "AEDT", or the offset where the zone has no name.
export function zoneName(at: string | Date, zone: string): string {
  return parts(at, zone, 'zone').timeZoneName ?? '';
}

// "2027-04-02", the local date an instant lies in.
export function localDate(at: string | Date, zone: string): string {
  const p = parts(at, zone, 'date');
  return `${p.year}-${p.month}-${p.day}`;
}

const dayNames = ['Sun', 'Mon', 'Tue', 'Wed', 'Thu', 'Fri', 'Sat'];
const monthNames = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

// "Fri 2 Apr" of a date; dates have no zone.
export function dateText(date: string): string {
  const [y, m, d] = date.split('-').map(Number) as [number, number, number];
  const day = new Date(Date.UTC(y, m - 1, d)).getUTCDay();
  return `${dayNames[day]} ${d} ${monthNames[m - 1]}`;
}

export function dayName(date: string): string {
  return dateText(date).slice(0, 3);
}

export function nextDate(date: string, days = 1): string {
  const [y, m, d] = date.split('-').map(Number) as [number, number, number];
  return new Date(Date.UTC(y, m - 1, d + days)).toISOString().slice(0, 10);
}

// "Fri 2 Apr 10:00 AEDT"
export function timeText(at: string | Date, zone: string): string {
  return `${dateText(localDate(at, zone))} ${clock(at, zone)} ${zoneName(at, zone)}`;
}

// Of what is entered as a date or as an instant.
export function dateOrTimeText(at: string, zone: string): string {
  return at.length === 10 ? dateText(at) : timeText(at, zone);
}

// "Fri 2 Apr 10:00–17:00 AEDT"; the end's day and zone where they differ.
export function spanText(from: string | Date, to: string | Date, zone: string): string {
  const [day, endDay] = [localDate(from, zone), localDate(to, zone)];
  const [name, endName] = [zoneName(from, zone), zoneName(to, zone)];
  const begin = `${dateText(day)} ${clock(from, zone)}${name === endName ? '' : ` ${name}`}`;
  return `${begin}–${endDay === day ? '' : `${dayName(endDay)} `}${clock(to, zone)} ${endName}`;
}

// "10:00–17:00": for where the day stands beside it; with the zones where the clock changes between.
export function hoursText(from: string | Date, to: string | Date, zone: string): string {
  const [name, endName] = [zoneName(from, zone), zoneName(to, zone)];
  return name === endName
    ? `${clock(from, zone)}–${clock(to, zone)}`
    : `${clock(from, zone)} ${name}–${clock(to, zone)} ${endName}`;
}

// How far ahead a date lies of another, as people say it.
export function leadText(date: string, today: string): string {
  const days = Math.round((Date.parse(date) - Date.parse(today)) / 86_400_000);
  if (days === 0) return 'today';
  if (days === 1) return 'tomorrow';
  return days < 0 ? 'past' : `in ${days} days`;
}

// The instant at which a local date begins: where the date of the hour before is another.
export function dayBegin(date: string, zone: string): Date {
  const [y, m, d] = date.split('-').map(Number) as [number, number, number];
  const noon = Date.UTC(y, m - 1, d, 12);
  const quarter = 15 * 60_000;
  for (let t = noon - 28 * 3_600_000; t <= noon + 16 * 3_600_000; t += quarter)
    if (localDate(new Date(t), zone) === date) return new Date(t);
  return new Date(noon);
}

export function ageText(hours: number): string {
  if (hours < 1) return 'less than an hour old';
  return hours < 48 ? `${Math.round(hours)} h old` : `${Math.floor(hours / 24)} days old`;
}
