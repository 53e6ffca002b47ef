// The page: who reads, what every view needs, and which view the address names.
import { render } from 'preact';
import { useEffect, useMemo, useRef, useState } from 'preact/hooks';
import { AlertsView } from './alerts';
import { Problem, type Answer } from './api';
import { AppContext, linkTo, usePlace, type App } from './app';
import { DistrictView } from './district';
import { FeedsView } from './feeds';
import { begin, useLive } from './live';
import { Trouble, Waiting } from './parts';
import { districtShown, paths, type Place } from './place';
import { PlanView } from './plan';
import { SignIn, SignedIn } from './sign_in';
import { Banners, StandingBar } from './standing';
import type { District, Quantity, Session, Units } from './types';
import { UnitView } from './unit';
import { useData } from './use_data';
import { Catalogue } from './words';
import './page.css';

const views = [
  { key: 'district', title: 'District' },
  { key: 'map', title: 'Map' },
  { key: 'plan', title: 'Plan' },
  { key: 'feeds', title: 'Feeds' },
  { key: 'alerts', title: 'Alerts' },
];

// The map brings its library along, which the other views do without.
function MapLater({ place }: { place: Place }) {
  const [view, setView] = useState<{ MapView: (p: { place: Place }) => preact.JSX.Element }>();
  const [failed, setFailed] = useState<Error>();
  useEffect(() => {
    import('./map').then(setView, setFailed);
  }, []);
  if (failed) return <Trouble problem={failed} />;
  return view ? <view.MapView place={place} /> : <p class="waiting">Reading the map …</p>;
}

function View({ place }: { place: Place }) {
  switch (place.view) {
    case 'district':
      return <DistrictView place={place} />;
    case 'unit':
      return <UnitView place={place} key={place.id} />;
    case 'map':
      return <MapLater place={place} />;
    case 'plan':
      return <PlanView place={place} />;
    case 'alerts':
      return <AlertsView />;
    case 'feeds':
      return <FeedsView />;
    default:
      return (
        <p class="note">
          There is no such view. <a href={linkTo('district')}>To the district</a>
        </p>
      );
  }
}

function Page() {
  const place = usePlace();
  const live = useLive();
  const session = useData<Session>(paths.session);
  const districts = useData<{ districts: District[] }>(paths.districts);
  const units = useData<Units>(districts.data ? paths.units : null); // after the days (first.ts)
  const quantities = useData<{ quantities: Quantity[] }>(paths.quantities);
  const main = useRef<HTMLElement>(null);

  const needsSignIn = [session, districts, units].some(({ problem }: Answer<unknown>) => problem instanceof Problem && problem.status === 401);
  const who = session.data;
  // A unit is shown in its own district; elsewhere the one chosen last stays, since links do not name it.
  const chosen = useRef<string | undefined>(undefined);
  const ofUnit = place.view === 'unit' ? units.data?.features.find((u) => u.id === place.id)?.properties.district : undefined;
  const all = districts.data?.districts ?? [];
  const district = districtShown(all, ofUnit ?? place.query.get('district') ?? chosen.current);
  if (district) chosen.current = district.id;
  const app = useMemo<App | null>(
    () =>
      who && district && units.data && quantities.data && live.status
        ? {
            district,
            units: new Map(units.data.features.filter((u) => u.properties.district === district.id).map((u) => [u.id, u])),
            catalogue: new Catalogue(quantities.data.quantities),
            session: who,
            zone: district.time_zone,
            isDemo: live.status.demo,
          }
        : null,
    [who, district, units.data, quantities.data, live.status?.demo],
  );

  // A new view begins at its top, for the keyboard too.
  const shown = `${place.view}/${place.id}`;
  const before = useRef(shown);
  useEffect(() => {
    const title = views.find((v) => v.key === place.view)?.title ?? app?.units.get(place.id)?.properties.name ?? '';
    document.title = `${title} – ${district?.name ?? ''} – Hakea`;
    if (before.current === shown) return;
    before.current = shown;
    main.current?.focus({ preventScroll: true });
    scrollTo(0, 0);
  }, [shown, app]);

  const loading = [session, districts, units, quantities].find((answer) => !answer.data);
  return (
    <AppContext.Provider value={app}>
      <a
        class="skip"
        href="#content"
        onClick={(e) => {
          e.preventDefault();
          main.current?.focus();
        }}
      >
        To the content
      </a>
      <header class="bar">
        <span class="brand">
          Hakea <span>{district?.name}</span>
        </span>
        <nav aria-label="Views">
          {views.map((v) => (
            <a key={v.key} href={linkTo(v.key)} aria-current={place.view === v.key ? 'page' : undefined}>
              {v.title}
            </a>
          ))}
        </nav>
        {all.length > 1 && (
          <label class="district-choice">
            <span class="unseen">District</span>
            <select
              value={district?.id}
              onChange={(e) => {
                location.hash = linkTo('district', '', { district: e.currentTarget.value });
              }}
            >
              {all.map((d) => (
                <option key={d.id} value={d.id}>
                  {d.name}
                </option>
              ))}
            </select>
          </label>
        )}
        {app && <SignedIn />}
      </header>
      {app && !needsSignIn && <StandingBar />}
      <main id="content" tabIndex={-1} ref={main}>
        {app && !needsSignIn && <Banners />}
        {needsSignIn ? (
          <SignIn />
        ) : districts.data && !district ? (
          <p class="note">
            No district is entered here, or none that your token is for. A coordinator enters one with PUT /api/v1/districts/ID, then its
            units at /api/v1/units.
          </p>
        ) : app ? (
          <View place={place} key={app.district.id} />
        ) : (
          <Waiting answer={loading ?? { loading: true }} what="the district" />
        )}
      </main>
      <footer>
        <p class="unseen" role="status" aria-live="polite">
          {live.changed}
        </p>
        <p>
          <strong>Forecast guidance only.</strong> The decision to light belongs to the authorised burn officer under the approved plan and
          local law. Check total fire ban, restricted or prohibited periods and permits with the declaring authority: this system does not
          know them unless entered. Obtain an official spot forecast and measure fuel moisture on site before lighting. Calculated FFDI is
          not the official fire danger rating.
        </p>
      </footer>
    </AppContext.Provider>
  );
}

void begin();
render(<Page />, document.getElementById('page')!);
