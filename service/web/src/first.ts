// Read before the rest of the page, and small: what the first screen needs is asked for while the rest still comes, and the rest
// is begun once it is, for a slow processor sends nothing while it reads a program.
import { answerOf, need } from './api';
import { districtShown, paths, placeOf } from './place';
import type { District } from './types';

// The days are the most to read, and hang on the district's name alone: they are asked for next, before the units are read.
async function askFirst(): Promise<void> {
  const districts = need(paths.districts);
  for (const path of [paths.session, paths.quantities]) void need(path);
  await districts;
  const place = placeOf(location.hash);
  const district = districtShown(answerOf<{ districts: District[] }>(paths.districts).data?.districts ?? [], place.query.get('district'));
  if (district && place.view === 'district') for (const path of [paths.days(district.id), paths.bookings(district.id), paths.stops(district.id)]) void need(path);
  void need(paths.units);
}

const longestWait = 400; // ms, after which the page begins whatever has been answered

void Promise.race([askFirst(), new Promise((is) => setTimeout(is, longestWait))]).finally(() => import('./page'));
