// The frame of a screen: a head with the way back, the content, and parts that repeat.

import type { ComponentChildren } from 'preact';
import type { Problem } from '../../bridge/api';
import { advise, words } from '../i18n/i18n';
import { Icon, type IconName } from '../icon/icon';
import { href, type Route } from '../route/route';
import { back, type Loaded } from '../store/store';

export function Page({
  title,
  under,
  children,
  up,
  aside,
}: {
  title: string;
  under?: ComponentChildren;
  children: ComponentChildren;
  up?: Route;
  aside?: ComponentChildren;
}) {
  const w = words();
  return (
    <main class="page" id="main">
      <header class="page-head">
        {up !== undefined && (
          <button type="button" class="quiet square" aria-label={w.back} onClick={() => back(up)}>
            <Icon name="back" />
          </button>
        )}
        <div class="page-title">
          <h1>{title}</h1>
          {under !== undefined && <p>{under}</p>}
        </div>
        {aside}
      </header>
      {children}
    </main>
  );
}

// Card is a plain section; its head may lead on.
export function Card({
  title,
  children,
  to,
  note,
  tone,
}: {
  title?: string;
  children: ComponentChildren;
  to?: Route | undefined;
  note?: ComponentChildren;
  tone?: 'warn' | 'plain';
}) {
  return (
    <section class={tone === 'warn' ? 'card is-warn' : 'card'}>
      {title !== undefined && (
        <header class="card-head">
          <h2>
            {to === undefined ? (
              title
            ) : (
              <a href={href(to)}>
                {title}
                <Icon name="go" size={20} />
              </a>
            )}
          </h2>
          {note !== undefined && <span class="card-note">{note}</span>}
        </header>
      )}
      {children}
    </section>
  );
}

// Shown renders what has come, words while waiting, and the problem with its way out.
export function Shown<T>({ of, children }: { of: Loaded<T>; children: (value: T) => ComponentChildren }) {
  const w = words();
  switch (of.kind) {
    case 'waiting':
      return (
        <p class="waiting" role="status">
          {w.reading}
        </p>
      );
    case 'failed':
      return <ProblemBox problem={of.problem} />;
    case 'here':
      return <>{children(of.value)}</>;
  }
}

// Of these the detail is for whoever looks after the program: names of fields, in English.
const isForPrograms =
  /^(field|request|thing|calc|export|form|auth|role|people|phone|sync|snapshot|server|setup|scope)\.|^no_server$/;

// ProblemBox says what is wrong and what to do; about names what it is about.
export function ProblemBox({ problem, about = '' }: { problem: Problem; about?: string }) {
  const a = advise(problem.code);
  const detail = isForPrograms.test(problem.code) ? undefined : problem.detail;
  return (
    <div class="problem" role="alert">
      <Icon name="warn" />
      <p>
        <b>
          {about === '' ? '' : `${about}: `}
          {a.says}.
        </b>{' '}
        {a.next}
        {detail !== undefined && detail !== '' && <small>{detail}</small>}
      </p>
    </div>
  );
}

export function Empty({ children }: { children: ComponentChildren }) {
  return <p class="empty">{children}</p>;
}

// RowLink is one line of a list that leads on.
export function RowLink({
  to,
  children,
  icon,
  isWarn,
}: {
  to: Route;
  children: ComponentChildren;
  icon?: IconName;
  isWarn?: boolean;
}) {
  return (
    <a class={isWarn === true ? 'row is-warn' : 'row'} href={href(to)}>
      {icon !== undefined && <Icon name={icon} />}
      <span class="row-words">{children}</span>
      <Icon name="go" size={20} />
    </a>
  );
}

// Figure is one number with its name; with a route it opens the entries behind it.
export function Figure({
  name,
  text,
  note,
  to,
  isBig,
}: {
  name: string;
  text: string;
  note?: string | undefined;
  to?: Route | undefined;
  isBig?: boolean;
}) {
  const inside = (
    <>
      <span class="figure-name">{name}</span>
      <b class="figure-text">{text === '' ? '–' : text}</b>
      {note !== undefined && note !== '' && <small>{note}</small>}
    </>
  );
  const cls = isBig === true ? 'figure is-big' : 'figure';
  return to === undefined ? (
    <div class={cls}>{inside}</div>
  ) : (
    <a class={cls} href={href(to)}>
      {inside}
    </a>
  );
}

export function LinkButton({
  to,
  icon,
  children,
  kind = 'plain',
}: {
  to: Route;
  icon?: IconName;
  children: ComponentChildren;
  kind?: 'main' | 'plain' | 'quiet';
}) {
  return (
    <a class={`button ${kind}`} href={href(to)}>
      {icon !== undefined && <Icon name={icon} />}
      <span>{children}</span>
    </a>
  );
}
