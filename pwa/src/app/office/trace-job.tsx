// Which job a person means by what was typed: a part of its name is enough, in any case.
// That no job of a name was recorded says nothing of what is affected, and is told so.

import type { ComponentChildren } from 'preact';
import type { JobsView } from '../../bridge/api';
import { Card } from '../controls/page';
import { words } from '../i18n/i18n';
import { href } from '../route/route';
import { WholeShown } from '../older/older';
import { useWhole } from '../older/use-whole';

export function JobMeant({ typed, children }: { typed: string; children: (job: string) => ComponentChildren }) {
  const found = useWhole('jobs', { job: typed });
  return (
    <WholeShown of={found}>
      {(jobs) => {
        const [one, ...others] = jobs.found;
        if (one === undefined) return <NoJob jobs={jobs} />;
        return others.length === 0 ? children(one) : <Several jobs={jobs} />;
      }}
    </WholeShown>
  );
}

function NoJob({ jobs }: { jobs: JobsView }) {
  const w = words();
  return (
    <Card title={w.recall.noJob(jobs.asked)}>
      <p>{w.recall.noJobMeans}</p>
      {jobs.near.length > 0 && (
        <>
          <p>{w.recall.nearJobs}</p>
          <JobLinks names={jobs.near} />
        </>
      )}
    </Card>
  );
}

function Several({ jobs }: { jobs: JobsView }) {
  const w = words();
  return (
    <Card title={w.recall.whichJob}>
      <JobLinks names={jobs.found} />
      {jobs.more > 0 && <p class="hint">{w.recall.moreJobs(jobs.more)}</p>}
    </Card>
  );
}

function JobLinks({ names }: { names: readonly string[] }) {
  return (
    <ul class="plain-list">
      {names.map((job) => (
        <li key={job}>
          <a class="row" href={href({ at: 'trace', by: 'job', id: job })}>
            <span class="row-words">
              <b>{job}</b>
            </span>
          </a>
        </li>
      ))}
    </ul>
  );
}
