const p=this.closest('.shed-live');if(p){p.classList.remove('shed-silent');
const v=()=>[...p.querySelectorAll('input,select,.noUi-handle')].map(e=>
e.type=='checkbox'?e.checked:e.value??e.getAttribute('aria-valuenow')).join();
const n=()=>[...p.querySelectorAll('[data-turn]')].map(e=>e.dataset.turn).join();
p.shedAt=v();if(!p.dataset.kept){p.dataset.kept='1';
p.addEventListener('keydown',e=>{if((e.key.length==1||e.key.startsWith('Arrow'))&&
!e.ctrlKey&&!e.metaKey&&!e.altKey)e.stopPropagation()});
p.querySelectorAll('.shed-row,.shed-guess').forEach(r=>{const h=r.querySelector('.noUi-handle');
const l=[...r.querySelectorAll('label'),...p.querySelectorAll('.shed-asked label')].find(
l=>l.textContent);
if(h&&l)h.setAttribute('aria-label',l.textContent)});
const t=p.querySelector('.shed-size input');if(t){
for(const e of ['keyup','pointerup','change'])p.addEventListener(e,x=>{
if(x.target!=t&&(e=='change'||x.target.closest('.noUi-target'))&&v()!=p.shedAt){
p.shedAt=v();const was=n();clearTimeout(p.shedWait);
p.shedWait=setTimeout(()=>p.classList.toggle('shed-silent',n()==was),5000)}},true);
const tell=()=>{const b=p.querySelector('.shed-box');if(!b||!b.offsetParent)return;
const s=[b.clientWidth,b.clientHeight,devicePixelRatio].join(' ');if(s!=t.value){t.value=s;
t.dispatchEvent(new Event('change',{bubbles:true}))}};
let w;new ResizeObserver(()=>{clearTimeout(w);w=setTimeout(tell,120)}).observe(p);tell()}}}
