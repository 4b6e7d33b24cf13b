import { openBrowser, openPhone, openShop } from './lib.mjs';
const shop = await openShop(); const b = await openBrowser();
const out='/tmp/wt-scratch/shots/'; import {mkdirSync} from 'fs'; mkdirSync(out,{recursive:true});
async function go(role, list, opts={}, lang='en', dark=false){
  const p=await openPhone(b,{reducedMotion:'reduce',colorScheme:dark?'dark':'light',locale:lang==='es'?'es-ES':'en-US',...opts}); const page=await p.newPage(); page.setDefaultTimeout(10000);
  await page.goto(`${shop.url}/#in=${shop.codes[role]}`); await page.locator('button.main').first().click(); await page.locator('nav.tabs').waitFor();
  await page.waitForTimeout(1500);
  for(const [n,h,act] of list){ await page.evaluate(x=>{location.hash=x},h); await page.waitForTimeout(900); await act?.(page); await page.screenshot({path:out+n+'.png',fullPage:true}); }
  await p.close();
}
await go('coater',[['c-booth','#/booth'],['c-gun','#/gun/booth-1'],['c-today','#/today'],['c-ground','#/do/ground?booth=booth-1'],['c-output','#/do/output?booth=booth-1'],['c-setup','#/do/set.setup?setup=set-panels'],['c-cure','#/do/cure?booth=booth-1&run=run-4'],['c-run','#/run/run-4']]);
await go('clerk',[['k-today','#/today'],['k-plan','#/do/plan'],['k-room','#/room'],['k-climate','#/do/climate']],{},'es',true);
await go('manager',[['m-gun','#/gun'],['m-today','#/today']],{viewport:{width:1280,height:800},hasTouch:false});
await b.close(); await shop.close();
